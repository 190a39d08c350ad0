"""A package carries what its cycle is judged by, a load its programme's facts; what was packed
before goes in the programme it was packed for, as ever."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("assembly", "0008_shortfalls_alone")]

    operations = [
        migrations.AddField(
            "load",
            "runs",
            models.JSONField("the programme's facts", blank=True, default=dict),
        ),
        migrations.AddField(
            "package",
            "accepted",
            models.JSONField("findings accepted one by one", blank=True, default=list),
        ),
        migrations.AddField(
            "package",
            "serves",
            models.JSONField("what its cycle is judged by", blank=True, default=dict),
        ),
    ]
