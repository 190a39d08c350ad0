"""What a package goes without is worded as it is today: "Short: 1 of 1" read as if it was there."""

import re

from django.db import migrations

OLD = re.compile(r"Short: (\d+) of (\d+) (.+), ([^,]+)")


def reworded(sentence, contents):
    """The sentence in today's words; one that is not of the old kind stays as it is."""
    found = OLD.fullmatch(sentence)
    if not found:
        return sentence
    short, wanted, name, number = int(found[1]), int(found[2]), found[3], found[4]
    instead = sum(one["quantity"] for one in contents if one.get("instead_of") == number)
    inside = str(wanted - short - instead)
    if instead:
        inside += f" + {instead} substitute{'' if instead == 1 else 's'}"
    return f"MISSING {short} {name} ({inside} of {wanted} in the set)"


def reword(apps, schema_editor):
    packages = apps.get_model("assembly", "Package").objects.exclude(shortages=[])
    for package in packages.iterator(chunk_size=500):
        package.shortages = [reworded(one, package.contents) for one in package.shortages]
        package.save(update_fields=["shortages"])


class Migration(migrations.Migration):
    dependencies = [("assembly", "0029_lots_of_supplies_and_tests")]
    operations = [migrations.RunPython(reword, migrations.RunPython.noop)]
