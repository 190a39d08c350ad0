from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0018_recalls_and_lots'),
    ]

    operations = [
        migrations.CreateModel(
            name='EmptyBox',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=64, unique=True)),
                ('supply', models.CharField(db_index=True, max_length=60)),
                ('name', models.CharField(max_length=140)),
                ('said_by', models.CharField(max_length=150)),
                ('said_at', models.DateTimeField()),
                ('until', models.DateTimeField(db_index=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('ended_by', models.CharField(blank=True, max_length=150)),
            ],
            options={
                'verbose_name_plural': 'empty boxes',
                'ordering': ['said_at', 'pk'],
            },
        ),
    ]
