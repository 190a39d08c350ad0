"""Filters and protectors are of closed lists: what free text says for certain is kept as such.

A filter in words that name paper or cellulose is paper. A protector's material that is none of
the list becomes unknown, and what is unknown never passes: the words say nothing certain.
"""

from typing import Any

from django.db import migrations, models

PAPER = ("paper", "cellulos")
MATERIALS = {
    "silicone": ("silicon",),
    "latex": ("latex",),
    "cellulose": ("cellulos", "paper"),
    "solid rubber": ("solid rubber",),
    "plastic": ("plastic", "polypropylene", "polyethylene"),
}


def close_lists(apps: Any, _: Any) -> None:
    for row in apps.get_model("catalog", "Container").objects.filter(filter_material=""):
        if any(word in row.filter.casefold() for word in PAPER):
            row.filter_material = "paper"
            row.save(update_fields=["filter_material"])
    for row in apps.get_model("catalog", "Protector").objects.exclude(material=""):
        row.material = material_of(row.material)
        row.save(update_fields=["material"])


def material_of(words: str) -> str:
    """The material that a text names; empty where it names none, or more than one."""
    text = words.casefold()
    found = [name for name, parts in MATERIALS.items() if any(part in text for part in parts)]
    return found[0] if len(found) == 1 else ""


class Migration(migrations.Migration):
    dependencies = [("catalog", "0005_trade_words")]

    operations = [
        migrations.RunPython(close_lists, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="protector",
            name="material",
            field=models.CharField(
                blank=True,
                choices=[
                    ("silicone", "Silicone"),
                    ("plastic", "Plastic"),
                    ("cellulose", "Cellulose"),
                    ("solid rubber", "Solid rubber"),
                    ("latex", "Latex"),
                ],
                max_length=40,
            ),
        ),
    ]
