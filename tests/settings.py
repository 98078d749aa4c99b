"""The project's settings with what makes tests fast and alone: own data folder, plain static files, a quick hasher."""

import os
import tempfile

os.environ.setdefault("DATA_DIR", tempfile.mkdtemp(prefix="coachhub-tests-"))

from coachhub.settings import *  # noqa: E402, F403
from coachhub.settings import STORAGES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
AXES_ENABLED = False  # the lock-out has its own test, which turns it on
STATIC_ROOT.mkdir(exist_ok=True)  # noqa: F405
# A worker process of tests/services keeps its pages where the test looks for them.
MEDIA_ROOT = os.environ.get("TEST_BOARDS", MEDIA_ROOT)  # noqa: F405
# Another process must be able to open the tests' SQLite file, so it is a file.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # noqa: F405
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}  # noqa: F405
# The API's tests send whole requests in the middle of a test's transaction: they must not end its connection.
DATABASES["default"]["CONN_MAX_AGE"] = None  # noqa: F405
