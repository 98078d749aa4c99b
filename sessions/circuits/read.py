from django.db.models import Prefetch, QuerySet

from sessions.models import Circuit, Station, StationOption


def with_stations(circuits: QuerySet[Circuit]) -> QuerySet[Circuit]:
    """The same circuits with stations, options and movements loaded in three further queries, however many."""
    options = StationOption.objects.select_related("movement__machine_type", "movement__rack")
    stations = Station.objects.prefetch_related(Prefetch("options", options))
    return circuits.prefetch_related(Prefetch("stations", stations))
