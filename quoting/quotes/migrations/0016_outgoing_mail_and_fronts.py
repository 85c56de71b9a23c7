"""An outbox; the front of each answer beside the whole; one column to search through, with an index.

Fronts of older answers stay empty: pages make them on the way, and `manage.py fronts` keeps them while the app runs.
"""

import django.db.models.deletion
import quoting.quotes.snapshots
from django.conf import settings
from django.db import migrations, models


# PostgreSQL finds pieces of words by the groups of three letters in them; SQLite reads a narrow index from end to end
# instead of the rows, each of which holds a whole answer.
SEARCH = {
    "postgresql": (
        "CREATE EXTENSION IF NOT EXISTS pg_trgm",
        "CREATE INDEX inquiry_search ON quotes_inquiry USING gin (search_text gin_trgm_ops)",
    ),
    "sqlite": ("CREATE INDEX inquiry_search ON quotes_inquiry (search_text)",),
}
CHUNK = 1000


def index_search(apps, schema_editor):
    for statement in SEARCH[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


def unindex_search(apps, schema_editor):
    schema_editor.execute("DROP INDEX inquiry_search")


def fill_search(apps, schema_editor):
    inquiries = apps.get_model("quotes", "Inquiry").objects
    issued = {}
    for inquiry, number in apps.get_model("quotes", "Quote").objects.values_list("inquiry_id", "number").distinct():
        issued.setdefault(inquiry, []).append(number)
    rows = inquiries.order_by("pk").select_related("customer").only(
        "number", "reference", "typed", "customer__company", "customer__contact"
    )
    after = 0
    while chunk := list(rows.filter(pk__gt=after)[:CHUNK]):
        for row in chunk:
            customer = (row.customer.company, row.customer.contact) if row.customer else ()
            part = row.typed.get("part") if isinstance(row.typed, dict) else None
            name = part.get("name") if isinstance(part, dict) else ""
            said = (row.number, row.reference, *customer, name if isinstance(name, str) else "")
            row.search_text = "\n".join((*said, *sorted(issued.get(row.pk, ())))).lower()
        inquiries.bulk_update(chunk, ["search_text"])
        after = chunk[-1].pk


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0015_rates_of_coats'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='OutgoingMail',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=120, unique=True)),
                ('to', models.EmailField(max_length=254)),
                ('subject', models.CharField(max_length=200)),
                ('text', models.TextField(blank=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sending', 'sending'), ('sent', 'sent'), ('unknown', 'unknown'), ('failed', 'failed'), ('dropped', 'dropped')], default='waiting', max_length=10)),
                ('tries', models.PositiveSmallIntegerField(default=0)),
                ('reason', models.CharField(blank=True, max_length=400)),
                ('token', models.CharField(blank=True, max_length=32)),
                ('written_at', models.DateTimeField()),
                ('next_try', models.DateTimeField()),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'verbose_name': 'e-mail',
                'ordering': ['-pk'],
            },
        ),
        migrations.AddField(
            model_name='inquiry',
            name='front',
            field=quoting.quotes.snapshots.SnapshotField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name='inquiry',
            name='search_text',
            field=models.TextField(blank=True, default='', editable=False),
        ),
        migrations.AddIndex(
            model_name='inquiry',
            index=models.Index(fields=['-created_at', '-id'], name='inquiry_newest'),
        ),
        migrations.AddIndex(
            model_name='inquiry',
            index=models.Index(fields=['state', '-created_at', '-id'], name='inquiry_newest_in_state'),
        ),
        migrations.AddIndex(
            model_name='inquiry',
            index=models.Index(fields=['created_by', '-created_at', '-id'], name='inquiry_newest_of_rep'),
        ),
        migrations.AddIndex(
            model_name='inquiry',
            index=models.Index(fields=['created_by', 'state', '-created_at', '-id'], name='inquiry_newest_of_rep_in_state'),
        ),
        migrations.AddIndex(
            model_name='inquiry',
            index=models.Index(fields=['state', 'answered_at'], name='inquiry_waiting'),
        ),
        migrations.AddField(
            model_name='outgoingmail',
            name='inquiry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='mails', to='quotes.inquiry'),
        ),
        migrations.AddField(
            model_name='outgoingmail',
            name='quote',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='mails', to='quotes.quote'),
        ),
        migrations.AddIndex(
            model_name='outgoingmail',
            index=models.Index(fields=['state', 'next_try'], name='mail_due'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ('waiting', 'sending', 'sent', 'unknown', 'failed', 'dropped'))), name='mail_state_known'),
        ),
        migrations.AddConstraint(
            model_name='outgoingmail',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ('sent', 'dropped')), _negated=True), ('text', ''), _connector='OR'), name='mail_text_gone_once_done'),
        ),
        migrations.RunPython(index_search, unindex_search),
        migrations.RunPython(fill_search, migrations.RunPython.noop),
    ]
