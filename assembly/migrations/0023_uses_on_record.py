from django.db import migrations


def uses_on_record(apps, schema_editor):
    """Packaging that packages used up before this was on record, from their decisions: a wrap once,
    a container its filter. Indicators and protectors cannot be told."""
    uses, packages = apps.get_model("assembly", "SupplyUse"), apps.get_model("assembly", "Package")
    found = []
    for pk, taken in packages.objects.order_by("pk").values_list("pk", "decision__taken"):
        kind, *codes = str(taken or "").split(":")
        for code in codes[:2] if kind == "pouch" else codes[:1]:
            word = "filter" if kind == "container" else kind
            found.append(uses(package_id=pk, supply=f"{word}:{code}", amount=1))
        found.append(uses(package_id=pk, supply="label:package", amount=1))
    uses.objects.bulk_create(found, batch_size=500)


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0022_supply_uses'),
    ]

    operations = [
        migrations.RunPython(uses_on_record, migrations.RunPython.noop),
    ]
