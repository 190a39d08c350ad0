
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0022_what_dries_a_set'),
    ]

    operations = [
        migrations.AlterField(
            model_name='change',
            name='object_key',
            field=models.CharField(max_length=80),
        ),
        migrations.AddIndex(
            model_name='change',
            index=models.Index(fields=['object_key'], name='change_object_key'),
        ),
    ]
