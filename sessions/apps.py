from django.apps import AppConfig


class SessionsConfig(AppConfig):
    name = "sessions"
    # Django's own login sessions hold the label "sessions"; this one is in every table name: never change it.
    label = "training"
    verbose_name = "Training"
