"""What was moved goes; in a transaction of its own, as PostgreSQL wants it."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("assembly", "0031_kept_decisions"),
    ]

    operations = [
        migrations.AlterField(
            model_name="package",
            name="decided",
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name="package", to="assembly.keptdecision"),
        ),
        migrations.RemoveField(model_name="package", name="decision"),
        *(
            migrations.RemoveField(model_name=model, name=f"{name}_before")
            for model, name in (
                ("package", "contents"), ("package", "checks"), ("package", "closed"), ("package", "serves"),
                ("package", "counted"), ("package", "seal_findings"), ("buildevent", "data"),
                ("load", "findings"),
            )
        ),
    ]
