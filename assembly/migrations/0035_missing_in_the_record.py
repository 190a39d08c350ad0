from django.db import migrations, models

KINDS = [
    ("started", "Begun"),
    ("counted", "Counted"),
    ("short", "Missing"),
    ("damaged", "Damaged"),
    ("taken out", "Damaged, taken out again"),
    ("substituted", "Substituted"),
    ("over", "One too many, laid aside"),
    ("reading", "Scale read"),
    ("undo", "Undone"),
    ("asked", "Asked for"),
    ("taken", "Taken over"),
    ("packed", "Packed"),
    ("unpacked", "Back to counting"),
    ("signed", "Signed"),
    ("reopened", "Reopened"),
    ("given up", "Canceled"),
]


class Migration(migrations.Migration):
    dependencies = [("assembly", "0034_recall_from_a_container")]

    operations = [
        migrations.AlterField(
            "buildevent", "kind", models.CharField(choices=KINDS, max_length=12)
        )
    ]
