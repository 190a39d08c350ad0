from django.db import migrations
from django.db.models import Q


def gone(apps, schema_editor):
    """What was made void, or left the shelf, is not here any more."""
    packages = apps.get_model("assembly", "Package").objects
    shelved = apps.get_model("assembly", "Shelved").objects.exclude(state="on shelf")
    left = Q(void_at__isnull=False) | Q(pk__in=shelved.values("package"))
    packages.filter(left).update(here=False)


class Migration(migrations.Migration):

    dependencies = [
        ("assembly", "0037_indexes_that_are_used"),
    ]

    operations = [
        migrations.RunPython(gone, migrations.RunPython.noop, elidable=True),
    ]
