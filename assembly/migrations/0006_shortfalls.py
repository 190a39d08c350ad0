"""Shortages become shortfalls, with room for what was missed in theatre."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0005_one_ledger'),
        ('catalog', '0001_initial'),
    ]

    operations = [
        migrations.RemoveConstraint('piecesback', 'pieces_back_in_one_set'),
        migrations.RemoveConstraint('piecesback', 'one_return_a_shortage_a_key'),
        migrations.RemoveConstraint('piecesback', 'one_return_a_request_a_key'),
        migrations.RemoveConstraint('shortage', 'shortage_gets_back_what_was_short'),
        migrations.RemoveConstraint('shortage', 'shortage_all_back_is_closed'),
        migrations.RenameModel('Shortage', 'Shortfall'),
        migrations.RenameField('piecesback', 'shortage', 'shortfall'),
        migrations.AlterModelOptions(
            name='shortfall',
            options={'ordering': ['opened_at', 'pk'], 'verbose_name': 'shortage'},
        ),
        migrations.AddField(
            model_name='shortfall',
            name='kind',
            field=models.CharField(choices=[('packed short', 'Packed short'), ('missed in theatre', 'Missed in theatre')], default='packed short', max_length=20),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='shortfall',
            name='instrument_set',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='shortfalls', to='catalog.instrumentset'),
        ),
        migrations.AddField(
            model_name='shortfall',
            name='request',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='shortfall', to='assembly.request'),
        ),
        migrations.AlterField(
            model_name='shortfall',
            name='package',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='shortfalls', to='assembly.package'),
        ),
        migrations.AlterField(
            model_name='shortfall',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shortfalls', to='catalog.instrument'),
        ),
        migrations.AlterField(
            model_name='shortfall',
            name='quantity',
            field=models.PositiveIntegerField(verbose_name='pieces that it went without'),
        ),
    ]
