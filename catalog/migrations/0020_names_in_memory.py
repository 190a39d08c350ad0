"""A stamp for each block of names that are there already."""

import uuid

from django.db import migrations, models

ROWS = 2048


def stamp(apps, schema_editor):
    block = apps.get_model('catalog', 'NamesBlock')
    for kind in ('instrument', 'instrumentset'):
        keys = apps.get_model('catalog', kind).objects.values_list('pk', flat=True)
        block.objects.bulk_create(
            block(kind=kind, block=one, stamp=uuid.uuid4().hex)
            for one in sorted({key // ROWS for key in keys.iterator()})
        )


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0019_chain'),
    ]

    operations = [
        migrations.CreateModel(
            name='NamesBlock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=20)),
                ('block', models.PositiveIntegerField()),
                ('stamp', models.CharField(max_length=32)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('kind', 'block'), name='one_stamp_for_a_block')],
            },
        ),
        migrations.RunPython(stamp, migrations.RunPython.noop),
    ]
