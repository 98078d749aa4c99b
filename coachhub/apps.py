from django.apps import AppConfig

from coachhub import celery  # noqa: F401  # tasks declared with shared_task bind to this app


class CoachhubConfig(AppConfig):
    name = "coachhub"
