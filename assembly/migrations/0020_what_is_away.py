from django.db import migrations, models
from django.db.models import PROTECT, Q


def say_how_each_ended(apps, schema_editor):
    """Until now a repair ended in words alone; and its set was that of its assembly."""
    repairs = apps.get_model("assembly", "Repair").objects
    closed = repairs.exclude(closed_at=None)
    closed.filter(closed_because="undone at the bench").update(outcome="undone")
    written_off = Q(closed_because__icontains="written off") & ~Q(closed_because__icontains="back")
    closed.filter(written_off, outcome="").update(outcome="written off")
    closed.filter(outcome="").update(outcome="back")
    for one in repairs.exclude(event=None).select_related("event__build"):
        one.instrument_set_id = one.event.build.instrument_set_id
        one.save(update_fields=["instrument_set"])


class Migration(migrations.Migration):
    dependencies = [
        ("assembly", "0019_empty_boxes"),
        ("catalog", "0014_unrecorded"),
    ]

    operations = [
        migrations.AddField(
            "repair", "instrument_set",
            models.ForeignKey(
                null=True, on_delete=PROTECT, related_name="repairs", to="catalog.instrumentset"
            ),
        ),
        migrations.AddField(
            "repair", "package",
            models.ForeignKey(
                null=True, on_delete=PROTECT, related_name="repairs", to="assembly.package"
            ),
        ),
        migrations.AddField(
            "repair", "from_spares",
            models.BooleanField(default=False, verbose_name="taken from the loose spares"),
        ),
        migrations.AddField(
            "repair", "gone_to",
            models.CharField(blank=True, max_length=120, verbose_name="who has it", default=""),
            preserve_default=False,
        ),
        migrations.AddField(
            "repair", "gone_at", models.DateTimeField(blank=True, null=True)
        ),
        migrations.AddField(
            "repair", "expected_on", models.DateField(blank=True, null=True)
        ),
        migrations.AddField(
            "repair", "outcome",
            models.CharField(
                blank=True, max_length=12, default="",
                choices=[
                    ("back", "back"), ("written off", "written off"),
                    ("undone", "undone at the bench"),
                ],
            ),
            preserve_default=False,
        ),
        migrations.RunPython(say_how_each_ended, migrations.RunPython.noop),
        migrations.AddConstraint(
            "repair",
            models.CheckConstraint(
                condition=Q(Q(("closed_at", None), ("outcome", "")),
                            Q(("closed_at__isnull", False), Q(("outcome", ""), _negated=True)),
                            _connector="OR"),
                name="repair_ends_with_an_outcome",
            ),
        ),
        migrations.AddConstraint(
            "repair",
            models.CheckConstraint(
                condition=Q(Q(("gone_at", None), ("gone_to", "")),
                            Q(("gone_at__isnull", False), Q(("gone_to", ""), _negated=True)),
                            _connector="OR"),
                name="repair_is_with_somebody_since",
            ),
        ),
    ]
