"""Work that stays on its machine and that a plan counts on in other weeks is offered as a line of its own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("planning", "0010_runs_frozen")]
    operations = [
        migrations.AddField(
            "planmove", "detail",
            models.JSONField(
                blank=True, default=dict,
                help_text="of weeks that change alone: where the machine would have no room otherwise",
            ),
        ),
        migrations.AlterField(
            "planmove", "reason",
            models.CharField(help_text="of machines.moves.REASONS, or weeks", max_length=20),
        ),
    ]  # fmt: skip
