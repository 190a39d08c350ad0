from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("assembly", "0035_missing_in_the_record")]

    operations = [
        migrations.AddField(
            model_name="package",
            name="tray",
            field=models.CharField(
                blank=True, max_length=20, verbose_name="which of several alike"
            ),
        ),
    ]
