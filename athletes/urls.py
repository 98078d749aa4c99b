from django.urls import path

from athletes.accounts import views as accounts
from athletes.audit import views as audit
from athletes.benchmarks import views as benchmarks
from athletes.efforts import check_views as checks
from athletes.efforts import entry_views as entry
from athletes.efforts import views as efforts
from athletes.equipment import air_views as air
from athletes.equipment import lever_views as levers
from athletes.equipment import rack_views as racks
from athletes.equipment import views as machines
from athletes.exporting import views as exports
from athletes.gym import views as gym
from athletes.importing import views as imports
from athletes.links import views as links
from athletes.movements import views as movements
from athletes.people import limitation_views as limitations
from athletes.people import override_views as overrides
from athletes.people import views as athletes
from athletes.trials import grid_views as grid
from athletes.trials import views as test_days

app_name = "athletes"

urlpatterns = [
    path("athletes/", athletes.index, name="list"),
    path("athletes/new/", athletes.create, name="create"),
    path("athletes/checks/", checks.index, name="checks"),
    path("athletes/roster/", links.roster, name="roster"),
    path("athletes/doubles/", athletes.pairs, name="doubles"),
    path("athletes/<int:pk>/merge/", athletes.merge, name="merge"),
    path("athletes/merges/<int:pk>/undo/", athletes.unmerge, name="merge-undo"),
    path("athletes/import/", imports.index, name="imports"),
    path("athletes/import/<int:pk>/", imports.detail, name="import"),
    path("athletes/import/<int:pk>/reading/", imports.reading, name="import-reading"),
    path("athletes/import/<int:pk>/names/", imports.names, name="import-names"),
    path("athletes/import/<int:pk>/keep/", imports.keep, name="import-keep"),
    path("athletes/import/<int:pk>/cancel/", imports.cancel, name="import-cancel"),
    path("athletes/import/<int:pk>/take-back/", imports.take_back, name="import-take-back"),
    path("athletes/import/<int:pk>/discard/", imports.discard, name="import-discard"),
    path("athletes/import/<int:pk>/progress/", imports.progress, name="import-progress"),
    path("athletes/import/<int:pk>/remarks.csv", imports.remarks, name="import-remarks"),
    path("athletes/export/", exports.index, name="exports"),
    path("athletes/export/<str:file>", exports.table, name="export"),
    path("athletes/<int:pk>/", athletes.detail, name="detail"),
    path("athletes/<int:pk>/change/", athletes.change, name="change"),
    path("athletes/<int:pk>/link/", links.renew, name="link-renew"),
    path("athletes/<int:pk>/link/revoke/", links.revoke, name="link-revoke"),
    path("athletes/<int:pk>/limitations/", limitations.create, name="limitation-create"),
    path("athletes/<int:pk>/overrides/", overrides.create, name="override-create"),
    path("athletes/<int:pk>/efforts/", efforts.create, name="effort-create"),
    path("limitations/<int:pk>/end/", limitations.end, name="limitation-end"),
    path("overrides/<int:pk>/end/", overrides.end, name="override-end"),
    path("efforts/<int:pk>/void/", efforts.void, name="effort-void"),
    path("benchmarks/", benchmarks.index, name="benchmarks"),
    path("benchmarks/new/", benchmarks.create, name="benchmark-create"),
    path("benchmarks/library/", benchmarks.library, name="benchmark-library"),
    path("benchmarks/<int:pk>/", benchmarks.change, name="benchmark-change"),
    path("benchmarks/<int:pk>/test-day/", entry.test_day, name="benchmark-entry"),
    path("test-days/", test_days.index, name="test-days"),
    path("test-days/new/", test_days.create, name="test-day-create"),
    path("test-days/<int:pk>/", test_days.detail, name="test-day"),
    path("test-days/<int:pk>/add/", test_days.add, name="test-day-add"),
    path("test-days/<int:pk>/take-off/<int:athlete>/", test_days.take_off, name="test-day-take-off"),
    path("test-days/<int:pk>/put-back/", test_days.put_back, name="test-day-put-back"),
    path("test-days/<int:pk>/move/", test_days.move, name="test-day-move"),
    path("test-days/<int:pk>/remove/", test_days.remove, name="test-day-remove"),
    path("test-days/<int:pk>/grid/", grid.grid, name="grid"),
    path("test-days/<int:pk>/grid/cells/", grid.cells, name="grid-cells"),
    path("test-days/<int:pk>/open/", grid.open_cells, name="grid-open"),
    path("movements/", movements.index, name="movements"),
    path("movements/new/", movements.create, name="movement-create"),
    path("movements/make/", movements.make, name="movement-make"),
    path("movements/<int:pk>/archive/", movements.archive, name="movement-archive"),
    path("movements/<int:pk>/", movements.change, name="movement-change"),
    path("gym/", gym.settings, name="gym"),
    path("gym/accounts/", accounts.index, name="accounts"),
    path("gym/accounts/second/", accounts.second, name="accounts-second"),
    path("gym/accounts/new/", accounts.create, name="account-create"),
    path("gym/accounts/<int:pk>/", accounts.change, name="account-change"),
    path("gym/accounts/<int:pk>/invite/", accounts.invite, name="account-invite"),
    path("gym/machines/", machines.index, name="machines"),
    path("gym/machines/<int:pk>/", machines.change, name="machine-change"),
    path("gym/machines/<int:pk>/readings/", levers.add, name="lever-add"),
    path("gym/readings/<int:pk>/remove/", levers.remove, name="lever-remove"),
    path("gym/loads/", racks.index, name="racks"),
    path("gym/loads/new/", racks.create, name="rack-create"),
    path("gym/loads/<int:pk>/", racks.change, name="rack-change"),
    path("gym/loads/<int:pk>/remove/", racks.remove, name="rack-remove"),
    path("gym/air/", air.index, name="air"),
    path("gym/air/<int:pk>/remove/", air.remove, name="air-remove"),
    path("gym/audit/", audit.index, name="audit"),
    path("gym/screen/", links.screen, name="screen-link"),
]
