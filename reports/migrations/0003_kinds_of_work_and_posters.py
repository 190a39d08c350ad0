"""Skills checks by kind of work, with a result; whose the posters of the wall are."""

from django.db import migrations, models


def say_what_was_seen(apps, schema_editor):
    """A step was seen or not: now that is said, and with it the result."""
    for check in apps.get_model("reports", "SkillsCheck").objects.all():
        check.result = "passed" if all(one["seen"] for one in check.steps) else "again"
        check.steps = [
            {"step": one["step"], "said": "seen" if one["seen"] else "not yet"}
            for one in check.steps
        ]
        check.save()


def say_it_as_before(apps, schema_editor):
    """What does not apply was not seen: the older form knows no other word."""
    for check in apps.get_model("reports", "SkillsCheck").objects.all():
        check.steps = [
            {"step": one["step"], "seen": one["said"] == "seen"} for one in check.steps
        ]
        check.save()


KINDS = ("self-seal pouch", "heat-seal pouch", "wrap", "container", "set", "loading")


class Migration(migrations.Migration):

    dependencies = [
        ("reports", "0002_label_stocks"),
    ]

    operations = [
        migrations.CreateModel(
            name="WallPoster",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=40, unique=True)),
                ("owner", models.CharField(blank=True, max_length=60)),
                ("number", models.CharField(blank=True, max_length=30, verbose_name="document number")),
                ("valid_until", models.DateField(blank=True, null=True, verbose_name="valid until")),
            ],
            options={"verbose_name": "wall poster"},
        ),
        migrations.AddField(
            "skillscheck", "kind",
            models.CharField(blank=True, choices=[(one, one) for one in KINDS], default="", max_length=20),
            preserve_default=False,
        ),
        migrations.AddField(
            "skillscheck", "watched",
            models.PositiveSmallIntegerField(null=True, verbose_name="how many were watched"),
        ),
        migrations.AddField(
            "skillscheck", "result",
            models.CharField(choices=[("passed", "passed"), ("again", "again")], default="again", max_length=10),
            preserve_default=False,
        ),
        migrations.AlterField(
            "skillscheck", "note",
            models.CharField(blank=True, max_length=300, verbose_name="remarks"),
        ),
        migrations.RunPython(say_what_was_seen, say_it_as_before),
        migrations.AddConstraint(
            "skillscheck",
            models.CheckConstraint(
                condition=models.Q(("result__in", ["passed", "again"])),
                name="skills_check_has_a_result",
            ),
        ),
    ]
