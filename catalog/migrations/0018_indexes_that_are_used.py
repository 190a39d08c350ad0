
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0017_lookups_by_index'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='change',
            name='change_newest',
        ),
        migrations.AlterField(
            model_name='change',
            name='batch',
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddIndex(
            model_name='change',
            index=models.Index(fields=['at'], name='change_at'),
        ),
        migrations.AddIndex(
            model_name='change',
            index=models.Index(fields=['batch'], name='change_batch'),
        ),
    ]
