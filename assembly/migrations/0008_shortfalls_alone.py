"""The counts that requests no longer carry, and what now always holds for shortfalls."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0007_shortfalls_of_requests'),
    ]

    operations = [
        migrations.RemoveConstraint('request', 'set_gets_back_what_it_missed'),
        migrations.RemoveConstraint('request', 'set_with_all_back_is_replenished'),
        migrations.RemoveField('request', 'returned'),
        migrations.RemoveField('request', 'replenished_at'),
        migrations.RemoveField('request', 'replenished_by'),
        migrations.RemoveField('request', 'replenished_because'),
        migrations.RemoveField('piecesback', 'request'),
        migrations.AlterField(
            model_name='piecesback',
            name='shortfall',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='back', to='assembly.shortfall'),
        ),
        migrations.AlterField(
            model_name='shortfall',
            name='instrument_set',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shortfalls', to='catalog.instrumentset'),
        ),
        migrations.AddConstraint(
            model_name='shortfall',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'packed short'), ('package__isnull', False), ('request', None)), models.Q(('kind', 'missed in theatre'), ('request__isnull', False)), _connector='OR'), name='shortfall_says_whose_it_is'),
        ),
        migrations.AddConstraint(
            model_name='shortfall',
            constraint=models.CheckConstraint(condition=models.Q(('returned__lte', models.F('quantity'))), name='shortfall_gets_back_what_was_short'),
        ),
        migrations.AddConstraint(
            model_name='shortfall',
            constraint=models.CheckConstraint(condition=models.Q(('returned__lt', models.F('quantity')), ('closed_at__isnull', False), _connector='OR'), name='shortfall_all_back_is_closed'),
        ),
        migrations.AddConstraint(
            model_name='piecesback',
            constraint=models.UniqueConstraint(fields=('shortfall', 'key'), name='one_return_a_key'),
        ),
    ]
