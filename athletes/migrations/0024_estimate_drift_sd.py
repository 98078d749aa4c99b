from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("athletes", "0023_api_tokens_hashed")]

    operations = [
        migrations.AddField(
            model_name="estimate",
            name="drift_sd",
            field=models.FloatField(
                default=0, help_text="Of a curve's log: what may have changed since in all of its efforts alike."
            ),
        )
    ]
