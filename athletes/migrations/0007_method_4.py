import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


# Well-known movements by slug: paced by breath, needs skill, and the slugs of its easier form, the first that the gym
# has. The names are those of the demo gym, of its earlier one too, and common ones.
KNOWN = {
    "box-jump": (True, True, ["step-up", "box-step-up"]),
    "box-jumps": (True, True, ["step-up", "step-ups", "box-step-up"]),
    "box-jump-over": (True, True, ["box-jump", "step-up", "box-step-up"]),
    "step-up": (True, False, []),
    "step-ups": (True, False, []),
    "box-step-up": (True, False, []),
    "burpee": (True, True, ["step-back-burpee"]),
    "burpees": (True, True, ["step-back-burpee"]),
    "step-back-burpee": (True, False, []),
    "air-squat": (True, False, ["box-squat"]),
    "air-squats": (True, False, ["box-squat"]),
    "single-under": (True, False, []),
    "single-unders": (True, False, []),
    "rope-skip": (True, False, []),
    "double-under": (True, True, ["single-under", "single-unders"]),
    "double-unders": (True, True, ["single-unders", "single-under"]),
    "rope-skip-double-turn": (True, True, ["rope-skip"]),
    "pull-up": (False, False, ["banded-pull-up", "pull-up-with-a-band", "ring-row"]),
    "pull-ups": (False, False, ["banded-pull-up", "banded-pull-ups", "pull-up-with-a-band", "ring-row", "ring-rows"]),
    "banded-pull-up": (False, True, ["ring-row"]),
    "banded-pull-ups": (False, True, ["ring-row", "ring-rows"]),
    "pull-up-with-a-band": (False, True, ["ring-row"]),
    "ring-row": (False, False, ["upright-ring-row"]),
    "ring-rows": (False, False, ["upright-ring-row"]),
    "push-up": (False, False, ["push-up-hands-on-a-box"]),
    "push-ups": (False, False, ["push-up-hands-on-a-box"]),
    "hip-extension-sit-up": (False, False, ["sit-up"]),
    "toes-to-bar": (False, True, ["hanging-knee-raise"]),
    "hanging-knee-raise": (False, False, ["lying-leg-raise"]),
    "wall-ball": (False, False, ["wall-ball-light-ball"]),
    "walking-lunge": (False, False, ["step-up", "box-step-up"]),
    "kettlebell-swing": (False, True, ["kettlebell-deadlift"]),
    "kettlebell-swing-24-kg": (False, True, ["kettlebell-swing-16-kg"]),
    "kettlebell-swing-16-kg": (False, True, ["kettlebell-deadlift-24-kg"]),
    "plank": (False, False, ["plank-on-the-knees"]),
    "power-clean": (False, True, []),
}


def keep_what_was_done(apps, schema_editor):
    """What logs said to method 3 is read in another way now. What stays is that it was done: no first time any more."""
    apps.get_model("athletes", "Evidence").objects.update(step=0, value=None, duration_s=None, sd_log=None)


def carry_headroom(apps, schema_editor):
    """A gym that had set its own headroom keeps it on its hard days; easier days leave more."""
    Gym = apps.get_model("athletes", "Gym")
    for gym in Gym.objects.exclude(headroom=0.15):
        gym.headroom_hard = min(max(gym.headroom, 0.0), 0.6)
        gym.headroom_steady = round(min(0.6, max(0.25, gym.headroom_hard + 0.05)), 4)
        gym.headroom_easy = round(min(0.6, max(0.45, gym.headroom_steady + 0.05)), 4)
        gym.save(update_fields=["headroom_hard", "headroom_steady", "headroom_easy"])


def describe_well_known(apps, schema_editor):
    """Say of well-known movements what they need. Tests of the most unbroken repetitions stay tests of a paced one."""
    Movement = apps.get_model("athletes", "Movement")
    found = Movement.objects.in_bulk(field_name="slug")
    for slug, (paced, needs_skill, easier) in KNOWN.items():
        movement = found.get(slug)
        if movement is None:
            continue
        movement.paced = paced and movement.kind == "repetitions"
        movement.needs_skill = needs_skill
        below = [found[s] for s in easier if s in found and found[s].kind == movement.kind]
        movement.easier_form_id = below[0].pk if below else None
        movement.save(update_fields=["paced", "needs_skill", "easier_form"])


class Migration(migrations.Migration):

    dependencies = [
        ('athletes', '0006_imports'),
    ]

    operations = [
        migrations.CreateModel(
            name='Accustomed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('accustomed', models.BooleanField()),
                ('said_at', models.DateTimeField(auto_now=True)),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='effort',
            name='effort_value_is_positive',
        ),
        migrations.RemoveConstraint(
            model_name='evidence',
            name='evidence_is_positive',
        ),
        migrations.RemoveConstraint(
            model_name='evidence',
            name='evidence_is_of_an_engine_or_a_movement',
        ),
        migrations.AddField(
            model_name='gym',
            name='headroom_easy',
            field=models.FloatField(default=0.45, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(0.6)]),
        ),
        migrations.AddField(
            model_name='gym',
            name='headroom_hard',
            field=models.FloatField(default=0.1, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(0.6)]),
        ),
        migrations.AddField(
            model_name='gym',
            name='headroom_steady',
            field=models.FloatField(default=0.25, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(0.6)]),
        ),
        migrations.AddField(
            model_name='gym',
            name='headroom_test',
            field=models.FloatField(default=0.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(0.6)]),
        ),
        migrations.RunPython(carry_headroom, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name='gym',
            name='caution',
        ),
        migrations.RemoveField(
            model_name='gym',
            name='headroom',
        ),
        migrations.RemoveField(
            model_name='gym',
            name='intent_easy',
        ),
        migrations.RemoveField(
            model_name='gym',
            name='intent_hard',
        ),
        migrations.RemoveField(
            model_name='gym',
            name='intent_steady',
        ),
        migrations.AddField(
            model_name='athlete',
            name='fitness',
            field=models.FloatField(default=0, editable=False),
        ),
        migrations.AddField(
            model_name='estimate',
            name='adjustment',
            field=models.FloatField(default=0, help_text='Of the log of the capacity, by logs since the last test.'),
        ),
        migrations.AddField(
            model_name='evidence',
            name='step',
            field=models.FloatField(default=0),
        ),
        migrations.AddField(
            model_name='movement',
            name='easier_form',
            field=models.ForeignKey(blank=True, help_text="What comes below it where a circuit's own swaps end: push-up, then hands on a box.", null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='harder_forms', to='athletes.movement'),
        ),
        migrations.AddField(
            model_name='movement',
            name='needs_skill',
            field=models.BooleanField(default=False, help_text="Jumps, swings, kipping, olympic lifts: not in somebody's first weeks."),
        ),
        migrations.AddField(
            model_name='movement',
            name='paced',
            field=models.BooleanField(default=False, help_text='Limited by breath and rhythm before the muscle: burpees, step-ups, skipping. Only of repetitions.'),
        ),
        migrations.AlterField(
            model_name='benchmark',
            name='measure',
            field=models.CharField(choices=[('time_for_distance', 'time for a distance'), ('distance_in_time', 'distance in a time'), ('time_for_calories', 'time for calories'), ('calories_in_time', 'calories in a time'), ('repetitions', 'most unbroken repetitions'), ('repetitions_in_time', 'repetitions in a time'), ('time_for_repetitions', 'time for repetitions'), ('hold', 'longest hold'), ('lift', 'load × repetitions')], max_length=20),
        ),
        migrations.AlterField(
            model_name='evidence',
            name='sd_log',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='evidence',
            name='value',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.RunPython(keep_what_was_done, migrations.RunPython.noop),
        migrations.AlterField(
            model_name='override',
            name='caution',
            field=models.CharField(choices=[('exposure', 'amount of a new movement'), ('return', 'first weeks, or back after a break'), ('no_target', 'no targets without a coach')], max_length=10),
        ),
        migrations.AddConstraint(
            model_name='effort',
            constraint=models.CheckConstraint(condition=models.Q(('value__gte', 0)), name='effort_value_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='evidence',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('duration_s__isnull', True), ('sd_log__isnull', True), ('value__isnull', True)), models.Q(('sd_log__gt', 0), ('step', 0), ('value__gt', 0)), _connector='OR'), name='evidence_steps_or_measures'),
        ),
        migrations.AddConstraint(
            model_name='evidence',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('movement__isnull', True), models.Q(('engine', ''), _negated=True)), models.Q(('engine', ''), ('movement__isnull', False)), _connector='OR'), name='evidence_is_of_one_engine_or_movement'),
        ),
        migrations.AddConstraint(
            model_name='movement',
            constraint=models.CheckConstraint(condition=models.Q(('paced', False), ('kind', 'repetitions'), _connector='OR'), name='only_repetitions_are_paced'),
        ),
        migrations.AddField(
            model_name='accustomed',
            name='athlete',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='athletes.athlete'),
        ),
        migrations.AddField(
            model_name='accustomed',
            name='movement',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='athletes.movement'),
        ),
        migrations.AddField(
            model_name='accustomed',
            name='said_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='accustomed',
            constraint=models.UniqueConstraint(fields=('athlete', 'movement'), name='one_word_on_being_accustomed'),
        ),
        migrations.RunPython(describe_well_known, migrations.RunPython.noop),
    ]
