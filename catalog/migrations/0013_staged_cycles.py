"""A staged cycle says by number whose it is: it is written without waiting for the other's key."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("catalog", "0012_shelves_of_sterilizers")]

    operations = [
        migrations.RunSQL("DELETE FROM catalog_stagedcycle", migrations.RunSQL.noop),
        migrations.RemoveField(model_name="stagedcycle", name="staged"),
        migrations.AddField(
            model_name="stagedcycle",
            name="batch",
            field=models.CharField(db_index=True, default="", max_length=80),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="stagedcycle",
            name="item_number",
            field=models.CharField(default="", max_length=40),
            preserve_default=False,
        ),
    ]
