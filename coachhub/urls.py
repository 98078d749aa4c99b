from django.contrib.auth import views as auth_views
from django.urls import include, path

from athletes.accounts import own_views as account
from athletes.accounts.read import anyone
from coachhub import archive_views
from coachhub.health import healthy
from sessions.first_hour.views import home
from sessions.weeks.views import this_week

urlpatterns = [
    path("", home, name="home"),
    path("week/", this_week, name="this-week"),
    path("healthy", healthy, name="healthy"),
    path(
        "login/",
        auth_views.LoginView.as_view(redirect_authenticated_user=True, extra_context={"anyone": anyone}),
        name="login",
    ),
    path("logout/", auth_views.LogoutView.as_view(), name="logout"),
    path("account/", account.account, name="account"),
    path("account/password/", account.Password.as_view(), name="account-password"),
    path("account/token/", account.token, name="account-token"),
    path("gym/archive/", archive_views.index, name="gym-archive"),
    path("gym/archive/progress/", archive_views.progress, name="gym-archive-progress"),
    path("gym/archive/<str:name>", archive_views.file, name="gym-archive-file"),
    path("", include("athletes.urls")),
    path("", include("sessions.urls")),
    path("api/v1/", include("sessions.api.urls")),
]
