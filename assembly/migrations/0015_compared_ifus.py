import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0014_levels_of_sets'),
    ]

    operations = [
        migrations.CreateModel(
            name='IfuComparison',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('by', models.CharField(max_length=150)),
                ('at', models.DateTimeField()),
                ('key', models.CharField(max_length=64, unique=True)),
                ('revision', models.CharField(blank=True, max_length=20, verbose_name='IFU revision')),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ifu_comparisons', to='catalog.instrument')),
            ],
            options={
                'verbose_name': 'IFU comparison',
                'ordering': ['-at', '-pk'],
            },
        ),
    ]
