from django.db import migrations, models

SHOWS = (
    ("sheet_other_names", "count sheet shows other names", True),
    ("sheet_notes", "count sheet shows notes", True),
    ("sheet_substitutes", "count sheet shows accepted substitutes", True),
    ("sheet_weights", "count sheet shows the weight of each", False),
    ("sheet_maker_numbers", "count sheet shows maker and catalog number", False),
)


class Migration(migrations.Migration):
    dependencies = [("catalog", "0015_implant")]

    operations = [
        migrations.AddField(
            "instrumentset", name, models.BooleanField(default=default, verbose_name=words)
        )
        for name, words, default in SHOWS
    ]
