import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0045_short_indexes'),
    ]

    operations = [
        migrations.AddField(
            model_name='keptdecision',
            name='fingerprint',
            field=models.BigIntegerField(null=True),
        ),
        migrations.AlterField(
            model_name='package',
            name='decided',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='packages', to='assembly.keptdecision'),
        ),
        migrations.AddIndex(
            model_name='keptdecision',
            index=models.Index(fields=['fingerprint'], name='decision_fingerprint'),
        ),
    ]
