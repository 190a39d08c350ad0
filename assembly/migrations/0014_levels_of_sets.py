import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0013_numbers_records_and_wet_packages'),
    ]

    operations = [
        migrations.AddField(
            model_name='stocklevel',
            name='instrument_set',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='stock_level', to='catalog.instrumentset'),
        ),
        migrations.AlterField(
            model_name='stocklevel',
            name='instrument',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='stock_level', to='catalog.instrument'),
        ),
        migrations.AddConstraint(
            model_name='stocklevel',
            constraint=models.CheckConstraint(condition=models.Q(('instrument', None), ('instrument_set', None), _connector='XOR'), name='level_of_one_thing'),
        ),
    ]
