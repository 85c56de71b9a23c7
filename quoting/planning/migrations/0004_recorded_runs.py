import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('machines', '0003_working_hours'),
        ('planning', '0003_plans'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='RunImport',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=20, unique=True)),
                ('file_name', models.CharField(max_length=200)),
                ('file_digest', models.CharField(max_length=64)),
                ('counts', models.JSONField(help_text='runs recorded, known already, wrong rows left out')),
                ('at', models.DateTimeField(db_index=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RunUpload',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.CharField(max_length=32, unique=True)),
                ('file_name', models.CharField(max_length=200)),
                ('content', models.BinaryField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-at'],
            },
        ),
        migrations.CreateModel(
            name='RunRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('started', models.DateField(db_index=True)),
                ('ended', models.DateField(db_index=True)),
                ('parts_good', models.PositiveIntegerField()),
                ('parts_scrapped', models.PositiveIntegerField(help_text='in forming and trimming, start-up shots not counted')),
                ('heats', models.PositiveIntegerField(blank=True, help_text='shots, start-up counted', null=True)),
                ('index_time', models.FloatField(blank=True, help_text='from shot to shot [s]', null=True)),
                ('setup_hours', models.FloatField(blank=True, null=True)),
                ('run_hours', models.FloatField(blank=True, null=True)),
                ('sheet_mass', models.FloatField(blank=True, help_text='[kg]', null=True)),
                ('blanks', models.PositiveIntegerField(blank=True, null=True)),
                ('trim_time', models.FloatField(blank=True, help_text='from piece to piece [s]', null=True)),
                ('parts_per_pallet', models.PositiveIntegerField(blank=True, null=True)),
                ('delivered', models.DateField(blank=True, help_text='day at the dock; the job is then done', null=True)),
                ('note', models.CharField(blank=True, max_length=500)),
                ('estimated', models.JSONField(blank=True, default=dict)),
                ('source', models.CharField(choices=[('form', 'form'), ('file', 'file'), ('command', 'command')], max_length=10)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='planning.job')),
                ('machine', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='machines.machine')),
                ('record', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='planning.runimport')),
                ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='planning.runrecord')),
            ],
            options={
                'ordering': ['-ended', '-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('index_time__gte', 1), ('index_time__lte', 7200)), name='run_index_time_range', violation_error_message='index_time must lie between 1 and 7200 (SI)'), models.CheckConstraint(condition=models.Q(('setup_hours__gte', 0), ('setup_hours__lte', 500)), name='run_setup_hours_range', violation_error_message='setup_hours must lie between 0 and 500 (SI)'), models.CheckConstraint(condition=models.Q(('run_hours__gte', 0), ('run_hours__lte', 5000)), name='run_run_hours_range', violation_error_message='run_hours must lie between 0 and 5000 (SI)'), models.CheckConstraint(condition=models.Q(('sheet_mass__gte', 0), ('sheet_mass__lte', 1000000)), name='run_sheet_mass_range', violation_error_message='sheet_mass must lie between 0 and 1e+06 (SI)'), models.CheckConstraint(condition=models.Q(('trim_time__gte', 1), ('trim_time__lte', 14400)), name='run_trim_time_range', violation_error_message='trim_time must lie between 1 and 14400 (SI)'), models.CheckConstraint(condition=models.Q(('source__in', ('form', 'file', 'command'))), name='run_source_known'), models.CheckConstraint(condition=models.Q(('ended__gte', models.F('started'))), name='run_ends_after_start'), models.UniqueConstraint(condition=models.Q(('replaces__isnull', True)), fields=('job', 'machine', 'started'), name='run_once', violation_error_message='A run of this job on this machine that began that day is recorded already.')],
            },
        ),
    ]
