from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("assembly", "0033_lookups_by_index")]

    operations = [
        migrations.AlterField(
            model_name="recall",
            name="kind",
            field=models.CharField(
                choices=[
                    ("load", "A load"),
                    ("sterilizer", "A sterilizer, since its last good biological reading"),
                    ("lot", "A lot of a supply or of a test"),
                    ("instrument", "An instrument"),
                    ("container", "A container by its number"),
                ],
                max_length=12,
            ),
        )
    ]
