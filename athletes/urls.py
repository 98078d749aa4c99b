from django.urls import path

from athletes.views import accounts, athletes, benchmarks, efforts, entry, gym, limitations, links, machines, movements

app_name = "athletes"

urlpatterns = [
    path("athletes/", athletes.index, name="list"),
    path("athletes/new/", athletes.create, name="create"),
    path("athletes/roster/", links.roster, name="roster"),
    path("athletes/<int:pk>/", athletes.detail, name="detail"),
    path("athletes/<int:pk>/change/", athletes.change, name="change"),
    path("athletes/<int:pk>/link/", links.renew, name="link-renew"),
    path("athletes/<int:pk>/link/revoke/", links.revoke, name="link-revoke"),
    path("athletes/<int:pk>/limitations/", limitations.create, name="limitation-create"),
    path("athletes/<int:pk>/efforts/", efforts.create, name="effort-create"),
    path("limitations/<int:pk>/end/", limitations.end, name="limitation-end"),
    path("efforts/<int:pk>/void/", efforts.void, name="effort-void"),
    path("benchmarks/", benchmarks.index, name="benchmarks"),
    path("benchmarks/new/", benchmarks.create, name="benchmark-create"),
    path("benchmarks/<int:pk>/", benchmarks.change, name="benchmark-change"),
    path("benchmarks/<int:pk>/test-day/", entry.test_day, name="benchmark-entry"),
    path("movements/", movements.index, name="movements"),
    path("movements/new/", movements.create, name="movement-create"),
    path("movements/<int:pk>/", movements.change, name="movement-change"),
    path("gym/", gym.settings, name="gym"),
    path("gym/accounts/", accounts.index, name="accounts"),
    path("gym/accounts/new/", accounts.create, name="account-create"),
    path("gym/accounts/<int:pk>/", accounts.change, name="account-change"),
    path("gym/machines/", machines.index, name="machines"),
    path("gym/machines/<int:pk>/", machines.change, name="machine-change"),
    path("gym/screen/", links.screen, name="screen-link"),
]
