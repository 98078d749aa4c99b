"""The bare view of bare_site behind what a new Django project begins with, for a server of its own."""

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from tests.benchmarks.phone import DEFAULT_MIDDLEWARE

settings.ROOT_URLCONF = "tests.benchmarks.bare_site"
settings.MIDDLEWARE = DEFAULT_MIDDLEWARE
application = get_wsgi_application()
