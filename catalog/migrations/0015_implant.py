from django.db import migrations, models

FIELD = {
    "blank": True,
    "help_text": "its load waits for the biological indicator, as the policy says",
    "null": True,
    "verbose_name": "an implant",
}


class Migration(migrations.Migration):
    dependencies = [("catalog", "0014_unrecorded")]

    operations = [
        migrations.AddField(model, "implant", models.BooleanField(**FIELD))
        for model in ("instrument", "stagedinstrument")
    ]
