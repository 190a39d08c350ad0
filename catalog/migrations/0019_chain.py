from django.db import migrations, models
from django.db.models.functions import Now

from catalog.chain.guards import lift_guards


def lift(apps, schema_editor):
    lift_guards(schema_editor.connection)


class Migration(migrations.Migration):
    """The chain of digests, and the narrow way past its guards: a table without a model, so that
    neither ``flush`` nor a backup takes it along. ``migrate`` sets the guards at its end."""

    dependencies = [
        ("catalog", "0018_indexes_that_are_used"),
    ]

    operations = [
        migrations.CreateModel(
            name="ChainTail",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=63, verbose_name="table")),
                ("row", models.BigIntegerField()),
                ("at", models.DateTimeField(db_default=Now())),
            ],
        ),
        migrations.CreateModel(
            name="ChainForm",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("table", models.CharField(max_length=63)),
                ("columns", models.TextField()),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("table", "columns"), name="one_form_of_its_columns")],
            },
        ),
        migrations.CreateModel(
            name="ChainSeal",
            fields=[
                ("number", models.PositiveBigIntegerField(primary_key=True, serialize=False)),
                ("at", models.DateTimeField(db_index=True)),
                ("why", models.CharField(blank=True, max_length=300)),
                ("entries", models.BinaryField()),
                ("digest", models.BinaryField()),
            ],
            options={"ordering": ["number"]},
        ),
        migrations.AddField(
            model_name="change",
            name="account",
            field=models.PositiveIntegerField(null=True, verbose_name="number of the account"),
        ),
        migrations.AddField(
            model_name="spreadsheetbatch",
            name="applied_account",
            field=models.PositiveIntegerField(null=True),
        ),
        migrations.RunSQL(
            "CREATE TABLE catalog_opening (why varchar(300) NOT NULL)", "DROP TABLE catalog_opening"
        ),
        migrations.RunPython(migrations.RunPython.noop, lift),
    ]
