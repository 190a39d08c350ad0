from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("assembly", "0040_accounts")]

    operations = [
        migrations.CreateModel(
            name="Basis",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("word", models.CharField(max_length=36)),
            ],
            options={"default_permissions": ()},
        ),
    ]
