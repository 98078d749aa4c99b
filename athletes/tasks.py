"""Background jobs."""

from celery import shared_task

from athletes.services.estimates import estimates_refresh
from athletes.services.gym_priors import gym_priors_refresh


@shared_task(name="athletes.estimates_refresh")
def refresh() -> None:
    gym_priors_refresh()
    estimates_refresh()
