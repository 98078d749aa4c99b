from django.apps import AppConfig

from coachhub import celery, checks  # noqa: F401  # tasks declared with shared_task, and checks, register themselves


class CoachhubConfig(AppConfig):
    name = "coachhub"
