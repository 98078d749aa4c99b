from django.db.models import Count, Max, Prefetch, QuerySet

from sessions.models import Circuit, Station, StationOption


def circuits(*, archived: bool = False) -> QuerySet[Circuit]:
    """Circuits with the number of their stations and the Monday of the last week they were planned in."""
    return Circuit.objects.filter(archived=archived).annotate(
        station_count=Count("stations", distinct=True), last_planned=Max("planned__week__starts_on")
    )


def with_stations(circuits: QuerySet[Circuit]) -> QuerySet[Circuit]:
    """The same circuits with stations, options and movements loaded in three further queries, however many."""
    options = StationOption.objects.select_related("movement__machine_type", "movement__rack")
    stations = Station.objects.prefetch_related(Prefetch("options", options))
    return circuits.prefetch_related(Prefetch("stations", stations))
