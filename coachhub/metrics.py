"""Numbers for whoever watches the server, in the Prometheus text format; no names in them, and nobody's numbers.

What is in the database is counted when it is asked for, so that any number of processes say the same. Requests are
counted by each process for itself and added up through files that the processes share (PROMETHEUS_MULTIPROC_DIR).
"""

import os
import shutil
import time
from collections.abc import Iterator

from django.conf import settings
from django.db.models import Count, Min
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from kombu.exceptions import OperationalError
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Histogram, generate_latest, multiprocess
from prometheus_client.core import GaugeMetricFamily

from athletes.models import Athlete, Import
from coachhub.celery import app as celery
from sessions.models import Log, Publication

BUCKETS = (0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30)
REQUESTS = Histogram(
    "coachhub_request_seconds", "Time to make a page, by its kind and the answer", ["page", "status"], buckets=BUCKETS
)


class CountingMiddleware:
    """How long each page takes. A page is named by its place in the code, never by its address, which may be a key."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        start = time.perf_counter()
        response = self.get_response(request)
        page = request.resolver_match.view_name if request.resolver_match else "none"
        REQUESTS.labels(page, response.status_code).observe(time.perf_counter() - start)
        return response


class Counted:
    """What the database, the queue and the disk say at this moment. Four queries."""

    def collect(self) -> Iterator[GaugeMetricFamily]:
        yield GaugeMetricFamily(
            "coachhub_athletes", "Active athletes", value=Athlete.objects.filter(active=True).count()
        )
        yield GaugeMetricFamily("coachhub_logs", "Logs that stand", value=Log.objects.filter(replaced=False).count())
        for name, model in (("publications", Publication), ("imports", Import)):
            found = model.objects.values("state").annotate(n=Count("pk")).order_by("state")
            family = GaugeMetricFamily(f"coachhub_{name}", f"{name.capitalize()} by state", labels=["state"])
            for row in found:
                family.add_metric([row["state"]], row["n"])
            yield family
        queued = Publication.objects.filter(state=Publication.State.QUEUED).aggregate(first=Min("requested_at"))[
            "first"
        ]
        waits = (timezone.now() - queued).total_seconds() if queued else 0.0
        yield GaugeMetricFamily("coachhub_oldest_waiting_seconds", "How long a publishing waits", value=waits)
        try:
            with celery.connection_for_read() as broker:
                aside, _where = broker.default_channel.aside()
            yield GaugeMetricFamily("coachhub_messages_set_aside", "Messages that no worker could read", value=aside)
        except OperationalError:  # the queue is away, which is no reason to say nothing else
            pass
        free = shutil.disk_usage(settings.DATA_DIR).free
        yield GaugeMetricFamily("coachhub_disk_free_bytes", "Left for the data folder", value=free)


def metrics(request: HttpRequest) -> HttpResponse:
    """For this machine itself; for others with METRICS_TOKEN as a bearer token."""
    said = request.headers.get("Authorization", "").removeprefix("Bearer ")
    known = settings.METRICS_TOKEN and constant_time_compare(said, settings.METRICS_TOKEN)
    here = request.META.get("REMOTE_ADDR", "") in ("127.0.0.1", "::1") and not request.was_forwarded
    if not (known or here):
        return HttpResponse("Ask from this machine, or with METRICS_TOKEN.", status=403, content_type="text/plain")
    registry = CollectorRegistry()
    registry.register(Counted())
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        multiprocess.MultiProcessCollector(registry)
    else:
        registry.register(REQUESTS)
    return HttpResponse(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)
