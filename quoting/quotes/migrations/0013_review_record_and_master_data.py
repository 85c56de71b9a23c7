"""Reviews before approval, the record of an issued document, master data by digest, and from where a customer replied.

The frozen tables are altered here, so their triggers are taken off first; 0014 puts them on again with the new columns.
"""

from importlib import import_module

import django.db.models.deletion
import quoting.quotes.snapshots
from django.conf import settings
from django.db import migrations, models


frozen_before = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0012_people_and_guesses'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(frozen_before.thaw, frozen_before.freeze),
        migrations.CreateModel(
            name='MasterData',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('content', models.BinaryField()),
                ('kept_at', models.DateTimeField()),
            ],
            options={
                'verbose_name_plural': 'master data',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Review',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField()),
                ('data_digest', models.CharField(max_length=64)),
                ('kind', models.CharField(choices=[('reviewed', 'reviewed'), ('seconded', 'seconded'), ('sent_back', 'sent back')], max_length=20)),
                ('confirmed', models.JSONField(blank=True, default=list)),
                ('reasons', models.JSONField(blank=True, default=list)),
                ('note', models.CharField(blank=True, max_length=500)),
                ('at', models.DateTimeField()),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='inquiry',
            name='inquiry_state_known',
        ),
        migrations.AddField(
            model_name='customerreply',
            name='address',
            field=models.CharField(blank=True, max_length=45),
        ),
        migrations.AddField(
            model_name='customerreply',
            name='agent',
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name='customerreply',
            name='key',
            field=models.CharField(blank=True, max_length=64),
        ),
        migrations.AddField(
            model_name='quote',
            name='record',
            field=quoting.quotes.snapshots.CanonicalField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='quote',
            name='record_digest',
            field=models.CharField(blank=True, max_length=64),
        ),
        migrations.AddField(
            model_name='quote',
            name='supersedes',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='quotes.quote'),
        ),
        migrations.AlterField(
            model_name='inquiry',
            name='state',
            field=models.CharField(choices=[('received', 'received'), ('needs_information', 'needs information'), ('answered', 'answered'), ('waits_for_manager', 'waits for manager'), ('approved', 'approved'), ('sent', 'sent'), ('won', 'won'), ('lost', 'lost'), ('declined', 'declined')], db_index=True, default='received', max_length=20),
        ),
        migrations.AddConstraint(
            model_name='customerreply',
            constraint=models.UniqueConstraint(condition=models.Q(('key', ''), _negated=True), fields=('quote', 'key'), name='reply_form_once'),
        ),
        migrations.AddConstraint(
            model_name='inquiry',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ('received', 'needs_information', 'answered', 'waits_for_manager', 'approved', 'sent', 'won', 'lost', 'declined'))), name='inquiry_state_known'),
        ),
        migrations.AddField(
            model_name='review',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reviews', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='review',
            name='inquiry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reviews', to='quotes.inquiry'),
        ),
        migrations.AddConstraint(
            model_name='review',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ('reviewed', 'seconded', 'sent_back'))), name='review_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='review',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'sent_back'), _negated=True), models.Q(('note', ''), _negated=True), _connector='OR'), name='sent_back_says_why'),
        ),
    ]
