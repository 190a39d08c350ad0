from django.db import migrations, models


class Migration(migrations.Migration):
    """The tables as 3 steps left them, at once: nothing is in them that would have to move. A
    database that has some of the steps goes on with the rest. What guards the record is set at the
    end of ``migrate``."""

    replaces = [
        ('reports', '0001_skills_checks'),
        ('reports', '0002_label_stocks'),
        ('reports', '0003_kinds_of_work_and_posters'),
    ]

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='WallPoster',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=40, unique=True)),
                ('owner', models.CharField(blank=True, max_length=60)),
                ('number', models.CharField(blank=True, max_length=30, verbose_name='document number')),
                ('valid_until', models.DateField(blank=True, null=True, verbose_name='valid until')),
            ],
            options={
                'verbose_name': 'wall poster',
            },
        ),
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
        migrations.CreateModel(
            name='SkillsCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(blank=True, choices=[('self-seal pouch', 'self-seal pouch'), ('heat-seal pouch', 'heat-seal pouch'), ('wrap', 'wrap'), ('container', 'container'), ('set', 'set'), ('loading', 'loading')], max_length=20)),
                ('skill', models.CharField(max_length=120)),
                ('trainee', models.CharField(db_index=True, max_length=150)),
                ('trainer', models.CharField(max_length=150)),
                ('observed_on', models.DateField(verbose_name='observed on')),
                ('watched', models.PositiveSmallIntegerField(null=True, verbose_name='how many were watched')),
                ('next_due', models.DateField(verbose_name='next due')),
                ('steps', models.JSONField()),
                ('result', models.CharField(choices=[('passed', 'passed'), ('again', 'again')], max_length=10)),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='remarks')),
                ('recorded_by', models.CharField(max_length=150)),
                ('recorded_at', models.DateTimeField()),
            ],
            options={
                'verbose_name': 'skills check',
                'ordering': ['trainee', '-observed_on', '-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('trainee', ''), _negated=True), models.Q(('trainer', ''), _negated=True)), name='skills_check_has_both_names'), models.CheckConstraint(condition=models.Q(('next_due__gte', models.F('observed_on'))), name='skills_check_due_after_it'), models.CheckConstraint(condition=models.Q(('result__in', ['passed', 'again'])), name='skills_check_has_a_result')],
            },
        ),
    ]
