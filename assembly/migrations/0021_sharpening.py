from django.db import migrations, models
from django.db.models import PROTECT


class Migration(migrations.Migration):
    dependencies = [
        ("assembly", "0020_what_is_away"),
        ("catalog", "0014_unrecorded"),
    ]

    operations = [
        migrations.CreateModel(
            name="Sharpening",
            fields=[
                ("id", models.BigAutoField(
                    auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                ("key", models.CharField(max_length=64, unique=True)),
                ("done_on", models.DateField()),
                ("done_by", models.CharField(
                    blank=True, max_length=120, verbose_name="who sharpened it")),
                ("instrument", models.ForeignKey(
                    on_delete=PROTECT, related_name="sharpenings", to="catalog.instrument")),
                ("instrument_set", models.ForeignKey(
                    null=True, on_delete=PROTECT, related_name="sharpenings",
                    to="catalog.instrumentset")),
            ],
            options={"ordering": ["done_on", "pk"]},
        ),
    ]
