"""Builds and packages count their steps as requests and loads do; moves have keys."""

from typing import Any

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Max


def number_them(apps: Any, schema_editor: Any) -> None:
    """The steps of each build by their order; each move under a key of its own."""
    event, build = apps.get_model("assembly", "BuildEvent"), apps.get_model("assembly", "Build")
    numbers: dict[int, int] = {}
    for pk, build_id in event.objects.order_by("pk").values_list("pk", "build"):
        numbers[build_id] = numbers.get(build_id, 0) + 1
        event.objects.filter(pk=pk).update(number=numbers[build_id])
    for build_id, last in numbers.items():
        build.objects.filter(pk=build_id).update(last_step=last)
    move, package = apps.get_model("assembly", "ShelfMove"), apps.get_model("assembly", "Package")
    for pk in move.objects.values_list("pk", flat=True):
        move.objects.filter(pk=pk).update(key=f"before keys {pk}")
    for found in package.objects.annotate(most=Max("steps__number")).filter(most__gt=0):
        package.objects.filter(pk=found.pk).update(last_step=found.most)


class Migration(migrations.Migration):
    dependencies = [("assembly", "0004_loads")]

    operations = [
        migrations.RenameField("build", "start_key", "key"),
        migrations.AddField("build", "last_step", models.PositiveIntegerField(default=0)),
        migrations.AddField("package", "last_step", models.PositiveIntegerField(default=0)),
        migrations.AddField(
            "buildevent", "number", models.PositiveIntegerField(default=0), preserve_default=False
        ),
        migrations.AddField(
            "shelfmove", "key", models.CharField(max_length=64, default=""), preserve_default=False
        ),
        migrations.AlterField(
            "buildevent",
            "build",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="steps",
                to="assembly.build",
            ),
        ),
        migrations.AlterField(
            "shelfmove",
            "package",
            models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="steps",
                to="assembly.package",
            ),
        ),
        migrations.RunPython(number_them, migrations.RunPython.noop),
        migrations.RemoveField("shelved", "last_move"),
        migrations.AddConstraint(
            "buildevent",
            models.UniqueConstraint(fields=["build", "number"], name="one_event_at_a_number"),
        ),
        migrations.AddConstraint(
            "shelfmove",
            models.UniqueConstraint(fields=["package", "key"], name="one_move_a_key"),
        ),
    ]
