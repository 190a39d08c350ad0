"""What was wrong with packages, and what the record of a package needs as it was called then."""

import django.db.models.deletion
from django.db import migrations, models


def write_down(apps, schema_editor):
    """Of packages from before: their names as they are today, and the count sheet from the lines
    of the assembly and what was put in it."""
    Package = apps.get_model("assembly", "Package")
    ShelfMove = apps.get_model("assembly", "ShelfMove")
    for one in Package.objects.exclude(sealer=None).select_related("sealer").iterator():
        Package.objects.filter(pk=one.pk).update(sealed_with=one.sealer.code)
    for one in ShelfMove.objects.exclude(place=None).select_related("place").iterator():
        place = f"{one.place.code} {one.place.name}".strip()
        ShelfMove.objects.filter(pk=one.pk).update(at_place=place)
    sets = Package.objects.exclude(build=None).select_related("build__count_sheet")
    for one in sets.prefetch_related("build__lines").iterator(chunk_size=200):
        Package.objects.filter(pk=one.pk).update(counted=counted(one))


def counted(package):
    sheet, left = package.build.count_sheet, list(package.contents)
    lines = []
    for line in package.build.lines.all():
        number = line.item_number
        own = next((one for one in left
                    if one["item_number"] == number and not one.get("instead_of")), None)
        instead = [one for one in left if one.get("instead_of") == number]
        for one in [*instead, *([own] if own else [])]:
            left.remove(one)
        inside = sum(one["quantity"] for one in [*instead, *([own] if own else [])])
        lines.append({
            "item_number": number, "name": line.name, "wanted": line.wanted, "inside": inside,
            "short": max(0, line.wanted - inside), "note": line.note,
            "instead": [[one["item_number"], one["name"], one["quantity"]] for one in instead],
        })
    return {
        "revision": sheet.revision,
        "approved_by": sheet.approved_by,
        "approved_on": sheet.approved_on.isoformat() if sheet.approved_on else "",
        "lines": lines,
    }


KINDS = [
    ("wet", "Wet"),
    ("hole", "Hole or tear"),
    ("dirty", "Dirty"),
    ("indicator", "Indicator not changed"),
    ("wrong item", "Wrong item"),
    ("missing", "Something missing"),
    ("label", "Label"),
    ("other", "Something else"),
]
STATES = [
    ("open", "Not looked into yet"),
    ("looked into", "Looked into"),
    ("mistake", "Said by mistake"),
]


class Migration(migrations.Migration):

    dependencies = [
        ("assembly", "0024_asked_together"),
    ]

    operations = [
        migrations.AddField(
            model_name="package",
            name="counted",
            field=models.JSONField(blank=True, default=dict, verbose_name="its count sheet as counted"),
        ),
        migrations.AddField(
            model_name="package",
            name="sealed_with",
            field=models.CharField(blank=True, max_length=20, verbose_name="sealer, as it was called"),
        ),
        migrations.AddField(
            model_name="shelfmove",
            name="at_place",
            field=models.CharField(blank=True, max_length=110, verbose_name="place, as it was called"),
        ),
        migrations.CreateModel(
            name="Complaint",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("last_step", models.PositiveIntegerField(default=0)),
                ("key", models.CharField(max_length=64, unique=True)),
                ("kind", models.CharField(choices=KINDS, max_length=12, verbose_name="what was wrong")),
                ("words", models.CharField(blank=True, max_length=300)),
                ("item_number", models.CharField(blank=True, max_length=40)),
                ("item_name", models.CharField(blank=True, max_length=200)),
                ("where", models.CharField(max_length=200, verbose_name="where it was")),
                ("state", models.CharField(choices=STATES, default="open", max_length=12)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField(db_index=True)),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("load", models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name="complaints", to="assembly.load")),
                ("package", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="complaints", to="assembly.package")),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "permissions": [("look_into_complaint", "Can say what was found of a complaint")],
                "constraints": [models.CheckConstraint(condition=models.Q(models.Q(("kind", "other"), _negated=True), models.Q(("words", ""), _negated=True), _connector="OR"), name="something_else_has_its_words")],
            },
        ),
        migrations.CreateModel(
            name="ComplaintStep",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                ("number", models.PositiveIntegerField()),
                ("key", models.CharField(max_length=64)),
                ("reason", models.CharField(blank=True, max_length=300)),
                ("state", models.CharField(choices=STATES, max_length=12)),
                ("complaint", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="steps", to="assembly.complaint")),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(fields=("complaint", "number"), name="one_complaint_step"),
                    models.UniqueConstraint(fields=("complaint", "key"), name="one_complaint_step_a_key"),
                ],
            },
        ),
        migrations.CreateModel(
            name="ComplaintNotice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("department", models.CharField(db_index=True, max_length=90)),
                ("read_by", models.CharField(blank=True, max_length=150)),
                ("read_at", models.DateTimeField(blank=True, null=True)),
                ("packages", models.JSONField(default=list)),
                ("complaint", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="notices", to="assembly.complaint")),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "constraints": [models.UniqueConstraint(fields=("complaint", "department"), name="one_complaint_notice_each")],
            },
        ),
        migrations.RunPython(write_down, migrations.RunPython.noop, elidable=True),
    ]
