"""Decisions in rows of their own, without the sentences of what was passed over, and compressed."""

import django.db.models.deletion
from django.db import migrations, models

from assembly.models.base.compressed import CompressedJSONField

COLUMNS = {
    "package": (
        ("contents", list, {}),
        ("checks", list, {}),
        ("closed", list, {"verbose_name": "checks once it is closed", "blank": True}),
        ("serves", dict, {"verbose_name": "what its cycle is judged by", "blank": True}),
        ("counted", dict, {"verbose_name": "its count sheet as counted", "blank": True}),
        ("seal_findings", list, {"verbose_name": "what its heat seal was judged by", "blank": True}),
    ),
    "buildevent": (("data", dict, {"blank": True}),),
    "load": (("findings", list, {"verbose_name": "what the release was decided on", "blank": True}),),
}
AT_ONCE = 200
CODES = {"not met": "n", "cannot tell": "c"}


def key(one):
    fold = [one["fold"]] if one.get("fold") else []
    return ":".join([one["kind"], one["code"], *filter(None, one["with"]), *fold])


def thousandths(margin):
    return None if margin is None else round(margin, 3)


def body(decision):
    """A decision as it was kept, as it is kept now."""
    whole = decision.get("decision", {})
    kept = {name: whole[name] for name in ("status", "recommended", "cautions", "unknown")
            if name in whole}
    kept["alternatives"] = [key(one) for one in whole.get("alternatives", ())]
    kept["passed_over"] = [
        [key(one), one["why"],
         [[f["rule"], CODES[f["status"]], thousandths(f["margin"]), f["unit"]]
          for f in one["findings"] if f["status"] in CODES]]
        for one in whole.get("passed_over", ())
    ]
    return decision | {"decision": kept}


def move(apps, schema_editor):
    Kept, Package, Event = (
        apps.get_model("assembly", name) for name in ("KeptDecision", "Package", "BuildEvent")
    )
    Load = apps.get_model("assembly", "Load")
    for some in _in_pieces(Load.objects.order_by("pk")):
        for one in some:
            one.findings = one.findings_before
        Load.objects.bulk_update(some, ["findings"])
    signed = _events(Event, Kept, Package)
    for some in _in_pieces(Package.objects.order_by("pk")):
        left = [one for one in some if one.pk not in signed]
        made = Kept.objects.bulk_create(Kept(body=body(one.decision)) for one in left)
        by_package = dict(zip((one.pk for one in left), made))
        for one in some:
            one.decided_id = signed[one.pk] if one.pk in signed else by_package[one.pk].pk
            one.taken = str(one.decision.get("taken", ""))
            for name, _, _ in COLUMNS["package"]:
                setattr(one, name, getattr(one, f"{name}_before"))
        Package.objects.bulk_update(
            some, ["decided", "taken", *(name for name, _, _ in COLUMNS["package"])]
        )


def _events(Event, Kept, Package):
    """The decision of each time that a set was packed; by package, the one that it was signed with."""
    signed, packed = {}, {}
    for some in _in_pieces(Event.objects.order_by("pk")):
        for one in some:
            one.data = dict(one.data_before)
            if one.kind == "packed" and "decision" in one.data:
                kept = Kept.objects.create(body=body(one.data.pop("decision")))
                one.data["decided"] = packed[one.build_id] = kept.pk
            if one.kind == "signed" and "package" in one.data and one.build_id in packed:
                signed[one.data["package"]] = packed.pop(one.build_id)
        Event.objects.bulk_update(some, ["data"])
    return signed


def _in_pieces(rows):
    last = 0
    while some := list(rows.filter(pk__gt=last)[:AT_ONCE]):
        yield some
        last = some[-1].pk


def _swaps():
    for model, columns in COLUMNS.items():
        for name, default, more in columns:
            yield migrations.RenameField(model, name, f"{name}_before")
            yield migrations.AddField(
                model, name, CompressedJSONField(default=default, **more),
                preserve_default="blank" in more,
            )


class Migration(migrations.Migration):

    dependencies = [
        ("assembly", "0030_missing_means_missing"),
    ]

    operations = [
        migrations.CreateModel(
            name="KeptDecision",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("body", CompressedJSONField()),
            ],
            options={"abstract": False},
        ),
        migrations.AddField(
            model_name="package",
            name="decided",
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name="package", to="assembly.keptdecision"),
        ),
        migrations.AddField(
            model_name="package",
            name="taken",
            field=models.CharField(default="", max_length=200, verbose_name="key of what it is packed in"),
            preserve_default=False,
        ),
        *_swaps(),
        migrations.RunPython(move, migrations.RunPython.noop, elidable=True),
    ]
