"""Cells of a checked spreadsheet can be corrected on its page."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("catalog", "0007_no_parts_apart")]

    operations = [
        migrations.AddField(
            model_name="spreadsheetrow",
            name="cells",
            field=models.JSONField(default=dict, verbose_name="column letter to what was typed, where it has problems"),
        ),
        migrations.CreateModel(
            name="SpreadsheetCorrection",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("sheet", models.CharField(max_length=250)),
                ("row", models.PositiveIntegerField()),
                ("column", models.CharField(max_length=3)),
                ("heading", models.CharField(blank=True, max_length=250)),
                ("was", models.TextField(blank=True)),
                ("now", models.TextField(blank=True)),
                ("right", models.BooleanField(default=False, verbose_name="it is right as it is")),
                ("choice", models.JSONField(blank=True, default=None, null=True, verbose_name="columns and units by which it was right")),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField(auto_now_add=True)),
                ("batch", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="corrections", to="catalog.spreadsheetbatch")),
            ],
            options={"verbose_name": "correction of a spreadsheet", "ordering": ["batch", "pk"]},
        ),
    ]
