import uuid

from django.db import migrations, models


def give_each_row_its_own_key(apps, schema_editor):
    Limitation = apps.get_model("athletes", "Limitation")
    for pk in Limitation.objects.values_list("pk", flat=True):
        Limitation.objects.filter(pk=pk).update(key=uuid.uuid4())


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0002_gym_priors"),
    ]

    operations = [
        migrations.AddField(
            model_name="limitation",
            name="key",
            field=models.UUIDField(default=uuid.uuid4, editable=False, null=True),
        ),
        migrations.RunPython(give_each_row_its_own_key, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="limitation",
            name="key",
            field=models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
        ),
    ]
