from django.db import migrations, models
from django.db.models.functions import Lower


class Migration(migrations.Migration):

    dependencies = [
        ("catalog", "0016_what_a_count_sheet_shows"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="change",
            index=models.Index(fields=["-at", "-id"], name="change_newest"),
        ),
        migrations.AddIndex(
            model_name="instrumentset",
            index=models.Index(Lower("code"), name="set_code_folded"),
        ),
    ]
