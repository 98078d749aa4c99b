from csp.decorators import csp_replace
from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import DefaultRouter

from athletes.api.equipment import MachineTypeViewSet, MachineViewSet, RackViewSet
from athletes.api.gym import GymViewSet
from athletes.api.handler import UnknownPathView
from athletes.api.imports import ImportViewSet
from athletes.api.links import LinkViewSet
from athletes.api.people import LimitationViewSet, MergeViewSet, OverrideViewSet
from athletes.api.readings import AirReadingViewSet, LeverReadingViewSet
from athletes.api.trials import TestDayViewSet
from athletes.api.views import AthleteViewSet, BenchmarkViewSet, EffortViewSet, MovementViewSet, MyBenchmarksViewSet
from sessions.api.accustomed import AccustomedViewSet
from sessions.api.builds import BuildViewSet
from sessions.api.by_hand import PinViewSet
from sessions.api.classes import ClassViewSet
from sessions.api.logs import FlagViewSet, MyLogsView
from sessions.api.progress import ProgressViewSet
from sessions.api.retests import RetestsView
from sessions.api.room import RoomPreviewView
from sessions.api.text import ReadView
from sessions.api.views import CircuitViewSet, MyTargetsViewSet, PublicationViewSet, TargetViewSet, WeekViewSet

app_name = "api"


class Router(DefaultRouter):
    root_view_name = "root"
    include_format_suffixes = False


router = Router()
router.register("athletes", AthleteViewSet, "athlete")
router.register("movements", MovementViewSet, "movement")
router.register("benchmarks", BenchmarkViewSet, "benchmark")
router.register("efforts", EffortViewSet, "effort")
router.register("limitations", LimitationViewSet, "limitation")
router.register("overrides", OverrideViewSet, "override")
router.register("merges", MergeViewSet, "merge")
router.register("machine-types", MachineTypeViewSet, "machine-type")
router.register("machines", MachineViewSet, "machine")
router.register("racks", RackViewSet, "rack")
router.register("lever-readings", LeverReadingViewSet, "lever-reading")
router.register("air-readings", AirReadingViewSet, "air-reading")
router.register("test-days", TestDayViewSet, "test-day")
router.register("imports", ImportViewSet, "import")
router.register("circuits", CircuitViewSet, "circuit")
router.register("weeks", WeekViewSet, "week")
router.register("publications", PublicationViewSet, "publication")
router.register("targets", TargetViewSet, "target")
router.register("classes", ClassViewSet, "class")
router.register("pins", PinViewSet, "pin")
router.register("builds", BuildViewSet, "build")
router.register("accustomed", AccustomedViewSet, "accustomed")
router.register("flags", FlagViewSet, "flag")

# The page's script sets styles of its own, which the site's policy would refuse.
docs = csp_replace({"style-src": ["'self'", "'unsafe-inline'"]})(
    SpectacularSwaggerSplitView.as_view(url_name="api:schema")
)

urlpatterns = [
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", docs, name="docs"),
    path("athletes/<int:pk>/link/renew/", LinkViewSet.as_view({"post": "renew"}), name="athlete-link-renew"),
    path("athletes/<int:pk>/link/revoke/", LinkViewSet.as_view({"post": "revoke"}), name="athlete-link-revoke"),
    path("athletes/<int:pk>/progress/", ProgressViewSet.as_view({"get": "progress"}), name="athlete-progress"),
    path("gym/", GymViewSet.as_view({"get": "retrieve", "patch": "partial_update"}), {"pk": 1}, name="gym"),
    path("room-preview/", RoomPreviewView.as_view(), name="room-preview"),
    path("retests/", RetestsView.as_view(), name="retests"),
    path("circuits/read/", ReadView.as_view(), name="circuit-read"),
    path("my/targets/", MyTargetsViewSet.as_view({"get": "list"}), name="my-targets"),
    path("my/logs/", MyLogsView.as_view(), name="my-logs"),
    path("my/benchmarks/", MyBenchmarksViewSet.as_view({"get": "list"}), name="my-benchmarks"),
    path("", include(router.urls)),
    path("<path:rest>", UnknownPathView.as_view(), name="unknown"),
]
