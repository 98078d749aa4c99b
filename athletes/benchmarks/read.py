from django.db.models import Count, Max, Q, QuerySet

from athletes.efforts.read import RETEST_AFTER
from athletes.gym.read import today
from athletes.models import Benchmark


def benchmarks_found(*, archived: bool = False) -> QuerySet[Benchmark]:
    """Benchmarks with how many active athletes have a result (`tested`), a recent one (`fresh`), and the last day."""
    counts = Q(efforts__voided_at__isnull=True, efforts__athlete__active=True)
    recent = counts & Q(efforts__performed_on__gte=today() - RETEST_AFTER)
    return (
        Benchmark.objects.filter(archived=archived)
        .select_related("movement")
        .annotate(
            tested=Count("efforts__athlete", filter=counts, distinct=True),
            fresh=Count("efforts__athlete", filter=recent, distinct=True),
            last_day=Max("efforts__performed_on", filter=counts),
        )
        .order_by("movement__name", "measure", "fixed")
    )
