from django.contrib.auth import views as auth_views
from django.urls import include, path

from athletes.accounts import own_views as account
from athletes.accounts import safety_views as safety
from athletes.accounts import sign_in_views as sign_in
from athletes.api.handler import UnknownPathView
from coachhub import archive_views
from coachhub.health import healthy
from coachhub.metrics import metrics
from sessions.first_hour.views import home
from sessions.weeks.views import this_week

handler500 = "coachhub.faults.server_fault"

urlpatterns = [
    path("", home, name="home"),
    path("week/", this_week, name="this-week"),
    path("healthy", healthy, name="healthy"),
    path("metrics", metrics, name="metrics"),
    path("login/", sign_in.SignIn.as_view(), name="login"),
    path("login/second/", sign_in.second, name="login-second"),
    path("login/passkey/ask/", sign_in.passkey_ask, name="passkey-ask"),
    path("login/passkey/", sign_in.passkey_answer, name="passkey-answer"),
    path("invitation/<uidb64>/<token>/", sign_in.Invitation.as_view(), name="invitation"),
    path("logout/", auth_views.LogoutView.as_view(), name="logout"),
    path("account/", account.account, name="account"),
    path("account/password/", account.Password.as_view(), name="account-password"),
    path("account/token/", account.token, name="account-token"),
    path("account/second/", safety.second, name="account-second"),
    path("account/codes/", safety.codes, name="account-codes"),
    path("account/second/off/", safety.second_off, name="account-second-off"),
    path("account/passkeys/ask/", safety.passkey_make_ask, name="account-passkey-ask"),
    path("account/passkeys/", safety.passkey_make_answer, name="account-passkey-answer"),
    path("account/passkeys/<int:pk>/remove/", safety.passkey_remove, name="account-passkey-remove"),
    path("account/devices/", safety.sign_ins_off, name="account-sign-ins-off"),
    path("gym/archive/", archive_views.index, name="gym-archive"),
    path("gym/archive/progress/", archive_views.progress, name="gym-archive-progress"),
    path("gym/archive/<str:name>", archive_views.file, name="gym-archive-file"),
    path("", include("athletes.urls")),
    path("", include("sessions.urls")),
    path("api/v1/", include("sessions.api.urls")),
    path("api/", UnknownPathView.as_view(), {"rest": ""}, name="api-root"),
    path("api/<path:rest>", UnknownPathView.as_view(), name="api-elsewhere"),
]
