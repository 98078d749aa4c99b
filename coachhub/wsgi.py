import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")

application = get_wsgi_application()
get_resolver().url_patterns  # noqa: B018  # every page is loaded now, not while the first people wait for it
