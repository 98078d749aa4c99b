"""Background jobs."""

from datetime import timedelta

from celery import shared_task
from django.conf import settings
from django.utils import timezone

from athletes.estimates.gym_priors import gym_priors_refresh
from athletes.estimates.write import estimates_refresh
from athletes.gym.read import today
from athletes.importing import run as import_run
from athletes.importing import write as imports
from athletes.models import ApiAnswer
from athletes.people.write import leaves_apply

ANSWERS_KEPT = timedelta(days=1)


@shared_task(name="athletes.estimates_refresh")
def refresh() -> None:
    leaves_apply(today())
    ApiAnswer.objects.filter(made_at__lt=timezone.now() - ANSWERS_KEPT).delete()
    gym_priors_refresh()
    estimates_refresh()


@shared_task(name=imports.TASK)
def run_import(import_id: int) -> None:
    import_run.run(import_id)


@shared_task(name="athletes.import_sweep")
def import_sweep() -> None:
    for import_id, begun in import_run.requeue_silent().items():
        run_import.apply_async([import_id], **({"queue": settings.FIRST} if begun else {}))
    imports.imports_forget()
