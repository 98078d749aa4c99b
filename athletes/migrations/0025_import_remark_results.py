from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("athletes", "0024_estimate_drift_sd")]

    operations = [
        migrations.AddField(
            model_name="importremark",
            name="benchmark",
            field=models.CharField(blank=True, help_text="Of a result that is understood.", max_length=60),
        ),
        migrations.AddField(
            model_name="importremark",
            name="performed_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="importremark",
            name="result",
            field=models.CharField(blank=True, help_text="As it is kept, in words.", max_length=60),
        ),
        migrations.AlterField(
            model_name="importremark",
            name="kind",
            field=models.CharField(
                choices=[
                    ("refused", "left out"),
                    ("questioned", "left out unless ticked"),
                    ("newcomer", "not here yet"),
                    ("unknown", "no such benchmark"),
                    ("kept", "new result"),
                ],
                max_length=10,
            ),
        ),
    ]
