"""That no part comes apart can be said: until now an empty text said nothing, which is NULL."""

from typing import Any

from django.db import migrations, models


def say_nothing(apps: Any, _: Any) -> None:
    apps.get_model("catalog", "Instrument").objects.filter(parts_apart="").update(parts_apart=None)


def say_empty(apps: Any, _: Any) -> None:
    apps.get_model("catalog", "Instrument").objects.filter(parts_apart=None).update(parts_apart="")


class Migration(migrations.Migration):
    dependencies = [("catalog", "0006_closed_lists")]

    operations = [
        migrations.AlterField(
            model_name="instrument",
            name="parts_apart",
            field=models.CharField(blank=True, help_text="which parts come apart; none where none do", max_length=200, null=True, verbose_name="taken apart"),
        ),
        migrations.RunPython(say_nothing, say_empty),
    ]
