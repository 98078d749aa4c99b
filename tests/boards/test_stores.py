"""Published pages in a bucket: the same behaviour as in a folder, against a server that speaks S3."""

import subprocess
import sys
import time
import zipfile

import pytest

from athletes.links.write import link_issue
from athletes.models import Athlete
from coachhub.archive import write_archive
from sessions.boards import files, stores, unused
from tests import gym
from tests.conftest import publish
from tests.phones import open_page
from tests.servers import free_port


@pytest.fixture(scope="module")
def s3():
    """A server of its own process; its address."""
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "moto.server", "-p", str(port)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    yield f"http://127.0.0.1:{port}"
    server.terminate()
    server.wait()


@pytest.fixture
def bucket(s3, settings, monkeypatch) -> stores.Bucket:
    for name, value in {
        "AWS_ENDPOINT_URL": s3,
        "AWS_ACCESS_KEY_ID": "key",
        "AWS_SECRET_ACCESS_KEY": "secret",
        "AWS_DEFAULT_REGION": "eu-west-1",
    }.items():
        monkeypatch.setenv(name, value)
    settings.BOARDS_URL = "s3://gym/boards"
    stores._bucket.cache_clear()
    files._fetched.cache_clear()
    found = stores.store()
    for _ in range(100):
        try:
            found.client.create_bucket(Bucket="gym", CreateBucketConfiguration={"LocationConstraint": "eu-west-1"})
            break
        except Exception:  # it is still starting, or the bucket is there from the test before
            if found.client.meta.endpoint_url == s3 and any(True for _ in _buckets(found)):
                break
            time.sleep(0.2)
    for name, _ in list(found.all()):
        found.remove(name)
    return found


def _buckets(found: stores.Bucket) -> list:
    try:
        return found.client.list_buckets()["Buckets"]
    except Exception:
        return []


def test_what_is_put_is_there_under_its_name_and_gone_when_removed(bucket):
    name = files.write("a page", ".html")
    assert files.write("a page", ".html") == name
    assert files.read(name) == b"a page"
    assert [found for found, _ in bucket.all()] == [name]
    assert bucket.has(name)
    bucket.remove(name)
    assert not bucket.has(name)
    with pytest.raises(FileNotFoundError):
        bucket.get(name)


def test_a_week_is_published_into_the_bucket_and_read_from_it_and_nothing_lies_on_disk(
    bucket, furnished, coach, settings, tmp_path
):
    gym.people(3)
    week = gym.planned_week(gym.this_monday())
    publication = publish(week, coach, day=gym.this_monday())
    link = link_issue(athlete=Athlete.objects.first(), by=None)
    assert "Mill race" in open_page(link, "phone-week").content.decode()
    assert bucket.has(publication.paper_a3)
    assert not settings.MEDIA_ROOT.exists()
    write_archive(tmp_path / "gym.zip")
    with zipfile.ZipFile(tmp_path / "gym.zip") as archive:
        boards = [name for name in archive.namelist() if name.startswith("boards/")]
    assert len(boards) == len(list(bucket.all())) > 3


def test_pages_that_nobody_names_leave_the_bucket(bucket, db, monkeypatch):
    files.write("nobody names me", ".html")
    assert unused.remove_unused() == 0  # it may belong to a week that is just being published
    later = time.time() + unused.SETTLED_S + 1
    monkeypatch.setattr(unused.time, "time", lambda: later)
    assert unused.remove_unused() == 1
    assert list(bucket.all()) == []
