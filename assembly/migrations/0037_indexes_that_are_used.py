
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0036_tray_of_several'),
        ('catalog', '0018_indexes_that_are_used'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='package',
            name='package_not_sealed',
        ),
        migrations.AddField(
            model_name='package',
            name='here',
            field=models.BooleanField(default=True, verbose_name='in force and not gone'),
        ),
        migrations.AlterField(
            model_name='buildevent',
            name='build',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='assembly.build'),
        ),
        migrations.AlterField(
            model_name='buildevent',
            name='line',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='assembly.buildline'),
        ),
        migrations.AlterField(
            model_name='buildline',
            name='build',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='assembly.build'),
        ),
        migrations.AlterField(
            model_name='loadstep',
            name='load',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='assembly.load'),
        ),
        migrations.AlterField(
            model_name='requeststep',
            name='request',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='assembly.request'),
        ),
        migrations.AlterField(
            model_name='shelfmove',
            name='package',
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='assembly.package'),
        ),
        migrations.AlterField(
            model_name='supplyuse',
            name='supply',
            field=models.CharField(max_length=60),
        ),
        migrations.AddIndex(
            model_name='package',
            index=models.Index(condition=models.Q(('here', True)), fields=['packed_at'], name='package_here'),
        ),
        migrations.AddIndex(
            model_name='request',
            index=models.Index(fields=['ended_at', 'id'], name='request_ended'),
        ),
        migrations.AddIndex(
            model_name='supplyuse',
            index=models.Index(fields=['supply'], name='supply_use_of'),
        ),
    ]
