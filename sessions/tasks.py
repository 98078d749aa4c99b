"""Background jobs: an id in, one call. They are asked for by name, see athletes.sending."""

from celery import shared_task
from django.conf import settings

from sessions.boards.unused import remove_unused
from sessions.first_hour.typed import typed_lists_drop
from sessions.logs import learning, promises
from sessions.publishing import run
from sessions.records.erase import log_empty


@shared_task(name="sessions.publish")
def publish(publication_id: int) -> None:
    run.run(publication_id)


@shared_task(name="sessions.publication_sweep")
def publication_sweep() -> None:
    for publication_id, begun in run.requeue_silent().items():
        publish.apply_async([publication_id], **({"queue": settings.FIRST} if begun else {}))


@shared_task(name="sessions.boards_sweep")
def boards_sweep() -> None:
    remove_unused()
    log_empty()  # where somebody was reading when an athlete was erased


@shared_task(name="sessions.typed_lists_sweep")
def typed_lists_sweep() -> None:
    typed_lists_drop()


@shared_task(name="sessions.learn")
def learn(athlete_id: int | None = None) -> None:
    learning.learn(athlete_id)


@shared_task(name="sessions.learn_sweep")
def learn_sweep() -> None:
    learning.learn()


@shared_task(name="sessions.model_refresh")
def model_refresh() -> None:
    promises.model_refresh()
