import django.core.validators
from django.db import migrations, models


USED_TO_BE_STORED = 0.4  # of the dose, where the coach wrote no least useful one


def least_only_where_written(apps, schema_editor):
    """A least useful dose that nobody wrote is worked out when it is needed, and no longer stored."""
    for option in apps.get_model("training", "StationOption").objects.all():
        if option.least_dose == max(1.0, float(round(USED_TO_BE_STORED * option.dose))):
            option.least_dose = None
            option.save(update_fields=["least_dose"])


class Migration(migrations.Migration):

    dependencies = [
        ('athletes', '0007_method_4'),
        ('training', '0004_attendance_place'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='stationoption',
            name='option_dose_is_useful',
        ),
        migrations.RemoveConstraint(
            model_name='stationoption',
            name='option_has_a_load_when_it_needs_one',
        ),
        migrations.RenameField(model_name='target', old_name='done_by_s', new_name='finish_by_s'),
        migrations.AddField(
            model_name='circuit',
            name='open_last',
            field=models.BooleanField(default=False, help_text='As far as it goes, one short of failing: it measures like a test.', verbose_name='open last round'),
        ),
        migrations.AddField(
            model_name='circuit',
            name='scaling',
            field=models.CharField(choices=[('dose', 'the dose'), ('rounds', 'the rounds, then the dose')], default='dose', max_length=6, verbose_name='what gives way'),
        ),
        migrations.AddField(
            model_name='logentry',
            name='open_last',
            field=models.FloatField(blank=True, help_text='What an open last round came to.', null=True),
        ),
        migrations.AddField(
            model_name='station',
            name='closed',
            field=models.BooleanField(default=False, help_text='No easier forms beyond the swaps that are written: then it is rest.'),
        ),
        migrations.AddField(
            model_name='stationoption',
            name='percent',
            field=models.FloatField(blank=True, null=True, verbose_name='load [% of the maximum]'),
        ),
        migrations.AddField(
            model_name='stationoption',
            name='reserve',
            field=models.FloatField(blank=True, null=True, verbose_name='repetitions in reserve'),
        ),
        migrations.AddField(
            model_name='target',
            name='rounds',
            field=models.PositiveSmallIntegerField(blank=True, help_text="The first so many of the circuit's. Empty in old targets: all of them.", null=True),
        ),
        migrations.AlterField(
            model_name='circuit',
            name='headroom',
            field=models.FloatField(blank=True, help_text='Of a hard day, as a share. Empty: by the intent of the day.', null=True, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(0.6)], verbose_name='left in the tank'),
        ),
        migrations.AlterField(
            model_name='classrun',
            name='shape',
            field=models.JSONField(help_text='What the clock needs of the circuit, see sessions.clock.moment.Shape.'),
        ),
        migrations.AlterField(
            model_name='plannedsession',
            name='intent',
            field=models.CharField(choices=[('easy', 'easy'), ('steady', 'steady'), ('hard', 'hard'), ('test', 'test')], default='hard', max_length=6),
        ),
        migrations.AlterField(
            model_name='publishedsession',
            name='circuit',
            field=models.JSONField(help_text="The circuit's definition, see sessions.circuits.definition."),
        ),
        migrations.AlterField(
            model_name='stationoption',
            name='least_dose',
            field=models.FloatField(blank=True, help_text='The foot of a range, 7 of 7–9: below it, swap. Empty: half the dose.', null=True),
        ),
        migrations.RunPython(least_only_where_written, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name='stationoption',
            constraint=models.CheckConstraint(condition=models.Q(('dose__gt', 0), models.Q(('least_dose__isnull', True), models.Q(('least_dose__gt', 0), ('least_dose__lte', models.F('dose'))), _connector='OR')), name='option_dose_is_useful'),
        ),
        migrations.AddConstraint(
            model_name='stationoption',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('dose_kind', 'load_repetitions'), models.Q(('load_kg__gt', 0), ('percent__range', (1, 100)), ('reserve__range', (0, 10)), _connector='OR')), models.Q(models.Q(('dose_kind', 'load_repetitions'), _negated=True), ('load_kg__isnull', True), ('percent__isnull', True), ('reserve__isnull', True)), _connector='OR'), name='option_has_a_load_when_it_needs_one'),
        ),
    ]
