from django.db import migrations, models

WRITTEN_ONCE = """
buildevent complaintstep containerstep equipmentteststep ifucomparison loadstep
loanerstep notneeded piecesback proposalstep questionstep requeststep
setneed sharpening shelfmove supplycount
""".split()


class Migration(migrations.Migration):
    """Beside the name of who did it, the number of the account."""

    dependencies = [
        ("assembly", "0039_last_load_of_a_sterilizer"),
        ("catalog", "0019_chain"),
    ]

    operations = [
        migrations.AddField(
            model_name=name,
            name="account",
            field=models.PositiveIntegerField(null=True, verbose_name="number of the account"),
        )
        for name in WRITTEN_ONCE
    ]
