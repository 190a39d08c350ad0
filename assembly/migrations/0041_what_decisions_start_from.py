from django.db import migrations, models

FOUND = {
    "sqlite": "SELECT name, '' FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT tgname, tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal",
}


def no_longer_watched(apps, schema_editor):
    """The way back: no table tells a word that is not kept any more."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute(FOUND[schema_editor.connection.vendor])
        for name, table in cursor.fetchall():
            if "_basis" in name:
                schema_editor.execute(f"DROP TRIGGER {name}{table and f' ON {table}'}")


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
        migrations.RunPython(migrations.RunPython.noop, no_longer_watched),
    ]
