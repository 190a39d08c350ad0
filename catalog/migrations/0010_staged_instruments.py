"""Lists are staged beside the catalog and moved in by one step; what went in of a list is told by
what was selected, which the command line has not said until now."""

from typing import Any

import django.core.serializers.json
import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


def say_what_was_selected(apps: Any, _: Any) -> None:
    batches = apps.get_model("catalog", "SpreadsheetBatch").objects.filter(state="applied")
    every = {"groups": ["new", "changed", "unchanged", "doubtful"], "rows": []}
    batches.filter(selection={}).update(selection=every)


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0009_sealers'),
    ]

    operations = [
        migrations.RunPython(say_what_was_selected, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name='spreadsheetrow',
            name='applied',
        ),
        migrations.AlterField(
            model_name='spreadsheetrow',
            name='same_as',
            field=models.JSONField(blank=True, encoder=django.core.serializers.json.DjangoJSONEncoder, null=True, verbose_name='may be the same as'),
        ),
        migrations.CreateModel(
            name='StagedInstrument',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200)),
                ('also_known_as', models.CharField(blank=True, help_text='nicknames, separated by ;', max_length=300, verbose_name='also known as')),
                ('group', models.CharField(blank=True, max_length=60)),
                ('maker', models.CharField(blank=True, max_length=120)),
                ('maker_catalog_number', models.CharField(blank=True, max_length=60, verbose_name="maker's catalog number")),
                ('length_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='length')),
                ('width_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='width')),
                ('height_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='height')),
                ('weight_g', models.DecimalField(blank=True, decimal_places=1, help_text='g; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.1)], verbose_name='weight')),
                ('tip', models.CharField(blank=True, choices=[('blunt', 'Blunt'), ('fine', 'Fine'), ('sharp', 'Sharp'), ('toothed', 'Toothed'), ('rough', 'Rough'), ('', 'Not stated')], default='', max_length=10)),
                ('tip_across_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='tip, greatest size across')),
                ('tip_cover_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='tip, length to be covered')),
                ('protector', models.CharField(blank=True, help_text='empty text: none needed; not stated: unknown', max_length=60, null=True, verbose_name='tip protector')),
                ('form', models.CharField(blank=True, choices=[('ring-handled', 'Ring-handled'), ('tweezer-like', 'Tweezer-like'), ('retractor', 'Retractor'), ('tube', 'Tube'), ('handle', 'Handle, rod or probe'), ('rongeur', 'Rongeur or cutter'), ('basin', 'Basin, bowl or cup'), ('scope', 'Scope'), ('powered', 'Powered device'), ('box', 'Block, mallet or other')], help_text='how it may lie, and how it is drawn', max_length=20)),
                ('width_open_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='width, open')),
                ('lies_only_as_given', models.BooleanField(blank=True, null=True, verbose_name='lies only as measured')),
                ('hinged', models.BooleanField(blank=True, null=True)),
                ('item_class', models.CharField(choices=[('instruments', 'Instrument'), ('textile packs', 'Textile'), ('utensils', 'Utensil (basin, bowl, cup)')], default='instruments', help_text='what published tables of cycles tell apart', max_length=20)),
                ('ratchet', models.BooleanField(blank=True, null=True, verbose_name='has a ratchet')),
                ('hollow', models.BooleanField(blank=True, null=True, verbose_name='hollow')),
                ('parts_apart', models.CharField(blank=True, help_text='which parts come apart; none where none do', max_length=200, null=True, verbose_name='taken apart')),
                ('round_section', models.BooleanField(default=False, verbose_name='round in section')),
                ('lumen_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='lumen bore')),
                ('lumen_length_mm', models.DecimalField(blank=True, decimal_places=3, help_text='mm; empty when not known', max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(0.001)], verbose_name='lumen length')),
                ('lumen_material', models.CharField(blank=True, choices=[('steel', 'Steel or other metal'), ('flexible', 'Flexible (plastic)')], max_length=10, verbose_name='lumen wall')),
                ('channels', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='lumen channels')),
                ('forbids', models.JSONField(blank=True, default=list, verbose_name='kinds of package its IFU forbids')),
                ('ifu_reference', models.CharField(blank=True, max_length=120, verbose_name='IFU')),
                ('ifu_revision', models.CharField(blank=True, max_length=20, verbose_name='IFU revision')),
                ('ifu_review_on', models.DateField(blank=True, help_text='overdue from this day', null=True, verbose_name='IFU to be read again on')),
                ('photo', models.CharField(blank=True, help_text='name of the file, our own', max_length=80)),
                ('spares_on_hand', models.PositiveIntegerField(blank=True, null=True, verbose_name='loose spares on hand')),
                ('notes', models.TextField(blank=True)),
                ('retired', models.BooleanField(default=False)),
                ('batch', models.CharField(db_index=True, max_length=80)),
                ('item_number', models.CharField(max_length=40, verbose_name='item number')),
                ('old_number', models.CharField(blank=True, max_length=40, verbose_name='where it gets another number')),
                ('verb', models.CharField(choices=[('added', 'Added'), ('changed', 'Changed'), ('retired', 'Retired'), ('restored', 'Brought back'), ('approved', 'Approved'), ('discarded', 'Discarded'), ('removed', 'Removed')], max_length=10)),
                ('before', models.JSONField(null=True)),
                ('after', models.JSONField(null=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('new_cycles', models.BooleanField(default=False, verbose_name='its cycles take the place of those on record')),
                ('instrument', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='catalog.instrument')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='StagedCycle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveSmallIntegerField(default=0)),
                ('method', models.CharField(choices=[('steam', 'Steam'), ('eo', 'Ethylene oxide'), ('h2o2', 'Vaporized hydrogen peroxide'), ('ltsf', 'Low-temperature steam with formaldehyde'), ('dry-heat', 'Dry heat')], max_length=10)),
                ('temperature_c', models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True, verbose_name='temperature')),
                ('temperature_to_c', models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True, verbose_name='temperature up to')),
                ('air_removal', models.CharField(blank=True, choices=[('gravity', 'Gravity'), ('dynamic', 'Dynamic air removal'), ('either', 'Either')], max_length=20, verbose_name='air removal')),
                ('exposure_min', models.DecimalField(blank=True, decimal_places=1, help_text='minutes; empty when not stated', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(0)], verbose_name='minimum exposure')),
                ('exposure_max', models.DecimalField(blank=True, decimal_places=1, help_text='minutes; empty when not stated', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(0)], verbose_name='maximum exposure')),
                ('drying_min', models.DecimalField(blank=True, decimal_places=1, help_text='minutes; empty when not stated', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(0)], verbose_name='minimum drying')),
                ('aeration_min', models.DecimalField(blank=True, decimal_places=1, help_text='minutes; empty when not stated', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(0)], verbose_name='minimum aeration')),
                ('cycle_name', models.CharField(blank=True, max_length=40, verbose_name='name of the cycle')),
                ('staged', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='catalog.stagedinstrument')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
