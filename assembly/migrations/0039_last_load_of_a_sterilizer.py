
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0038_what_is_here'),
        ('catalog', '0018_indexes_that_are_used'),
    ]

    operations = [
        migrations.AlterField(
            model_name='load',
            name='sterilizer',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='loads', to='catalog.sterilizer'),
        ),
        migrations.AddIndex(
            model_name='load',
            index=models.Index(fields=['sterilizer', 'begun_at'], name='load_of_sterilizer'),
        ),
    ]
