from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('reports', '0001_skills_checks'),
    ]

    operations = [
        migrations.CreateModel(
            name='LabelStock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.SlugField(max_length=60, unique=True)),
                ('name', models.CharField(max_length=80, verbose_name='what you call it')),
                ('width_mm', models.DecimalField(decimal_places=3, max_digits=7, verbose_name='width of a label')),
                ('height_mm', models.DecimalField(decimal_places=3, max_digits=7, verbose_name='height of a label')),
                ('margin_mm', models.DecimalField(decimal_places=3, max_digits=7, verbose_name='margin inside its edges')),
                ('printer_dpi', models.PositiveSmallIntegerField(verbose_name='dots an inch of its printer')),
                ('paper', models.CharField(blank=True, max_length=10, verbose_name='what it is')),
                ('across', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='labels across')),
                ('down', models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='labels down')),
                ('left_mm', models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True, verbose_name='left edge of the sheet to the first label')),
                ('top_mm', models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True, verbose_name='top edge of the sheet to the first label')),
                ('pitch_x_mm', models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True, verbose_name='left edge of a label to that of the next')),
                ('pitch_y_mm', models.DecimalField(blank=True, decimal_places=3, max_digits=7, null=True, verbose_name='top edge of a label to that of the one below')),
                ('retired', models.BooleanField(default=False, verbose_name='out of use')),
            ],
            options={
                'verbose_name': 'label stock',
                'ordering': ['name', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('height_mm__gt', 0), ('margin_mm__gt', 0), ('width_mm__gt', 0)), name='label_stock_has_a_size'), models.CheckConstraint(condition=models.Q(('paper', ''), models.Q(('across__gt', 0), ('down__gt', 0), ('left_mm__gte', 0), ('pitch_x_mm__gt', 0), ('pitch_y_mm__gt', 0), ('top_mm__gte', 0)), _connector='OR'), name='label_sheet_has_a_grid')],
            },
        ),
    ]
