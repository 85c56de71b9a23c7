from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('machines', '0004_retired_machines'),
    ]

    operations = [
        migrations.AddField(
            model_name='plant',
            name='tool_room_places',
            field=models.PositiveSmallIntegerField(default=0, help_text='people or benches that work at once in its own tool room; 0: it has none, tools are bought outside'),
        ),
        migrations.AddConstraint(
            model_name='plant',
            constraint=models.CheckConstraint(condition=models.Q(('tool_room_places__gte', 0), ('tool_room_places__lte', 500)), name='plant_tool_room_places_range', violation_error_message='tool_room_places must lie between 0 and 500 (SI)'),
        ),
    ]
