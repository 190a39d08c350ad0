
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0044_baselines'),
        ('catalog', '0023_short_indexes'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='package',
            name='one_package_in_force_a_build',
        ),
        migrations.AlterField(
            model_name='build',
            name='key',
            field=models.CharField(max_length=64),
        ),
        migrations.AlterField(
            model_name='buildevent',
            name='instrument',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalog.instrument'),
        ),
        migrations.AlterField(
            model_name='buildevent',
            name='undoes',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='undone_by', to='assembly.buildevent'),
        ),
        migrations.AlterField(
            model_name='equipmenttest',
            name='key',
            field=models.CharField(max_length=64),
        ),
        migrations.AlterField(
            model_name='load',
            name='key',
            field=models.CharField(max_length=64),
        ),
        migrations.AlterField(
            model_name='package',
            name='build',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='packages', to='assembly.build'),
        ),
        migrations.AlterField(
            model_name='package',
            name='code',
            field=models.CharField(max_length=20, verbose_name='package code'),
        ),
        migrations.AlterField(
            model_name='package',
            name='key',
            field=models.CharField(max_length=64),
        ),
        migrations.AlterField(
            model_name='package',
            name='own_container',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='packages', to='assembly.owncontainer'),
        ),
        migrations.AlterField(
            model_name='package',
            name='packed_with',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='alike', to='assembly.package'),
        ),
        migrations.AlterField(
            model_name='package',
            name='sealer',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='packages', to='catalog.sealer'),
        ),
        migrations.AlterField(
            model_name='request',
            name='department',
            field=models.CharField(max_length=40),
        ),
        migrations.AlterField(
            model_name='request',
            name='key',
            field=models.CharField(max_length=64),
        ),
        migrations.AlterField(
            model_name='shelfmove',
            name='place',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='assembly.shelfplace'),
        ),
        migrations.AlterField(
            model_name='shelved',
            name='place',
            field=models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='packages', to='assembly.shelfplace'),
        ),
        migrations.AddIndex(
            model_name='buildevent',
            index=models.Index(condition=models.Q(('instrument__isnull', False)), fields=['instrument'], name='event_of_instrument'),
        ),
        migrations.AddIndex(
            model_name='package',
            index=models.Index(condition=models.Q(('build__isnull', False)), fields=['build'], name='package_of_build'),
        ),
        migrations.AddIndex(
            model_name='package',
            index=models.Index(condition=models.Q(('own_container__isnull', False)), fields=['own_container'], name='package_in_container'),
        ),
        migrations.AddIndex(
            model_name='package',
            index=models.Index(condition=models.Q(('sealer__isnull', False)), fields=['sealer'], name='package_of_sealer'),
        ),
        migrations.AddIndex(
            model_name='package',
            index=models.Index(condition=models.Q(('packed_with__isnull', False)), fields=['packed_with'], name='package_packed_with'),
        ),
        migrations.AddIndex(
            model_name='request',
            index=models.Index(fields=['department'], name='request_department'),
        ),
        migrations.AddIndex(
            model_name='shelfmove',
            index=models.Index(condition=models.Q(('place__isnull', False)), fields=['place'], name='move_to_place'),
        ),
        migrations.AddIndex(
            model_name='shelved',
            index=models.Index(condition=models.Q(('place__isnull', False)), fields=['place'], name='shelved_at'),
        ),
        migrations.AddConstraint(
            model_name='build',
            constraint=models.UniqueConstraint(fields=('key',), name='one_build_a_key'),
        ),
        migrations.AddConstraint(
            model_name='buildevent',
            constraint=models.UniqueConstraint(condition=models.Q(('undoes__isnull', False)), fields=('undoes',), name='undone_once'),
        ),
        migrations.AddConstraint(
            model_name='equipmenttest',
            constraint=models.UniqueConstraint(fields=('key',), name='one_equipment_test_a_key'),
        ),
        migrations.AddConstraint(
            model_name='load',
            constraint=models.UniqueConstraint(fields=('key',), name='one_load_a_key'),
        ),
        migrations.AddConstraint(
            model_name='package',
            constraint=models.UniqueConstraint(fields=('key',), name='one_package_a_key'),
        ),
        migrations.AddConstraint(
            model_name='package',
            constraint=models.UniqueConstraint(fields=('code',), name='one_package_a_code'),
        ),
        migrations.AddConstraint(
            model_name='package',
            constraint=models.UniqueConstraint(condition=models.Q(('build__isnull', False), ('void_at__isnull', True)), fields=('build',), name='one_package_in_force_a_build'),
        ),
        migrations.AddConstraint(
            model_name='request',
            constraint=models.UniqueConstraint(fields=('key',), name='one_request_a_key'),
        ),
    ]
