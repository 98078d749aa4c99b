"""Where published pages are kept: a folder, or a bucket that several hosts share (BOARDS_URL=s3://bucket/folder).

A store has `put`, `get`, `has`, `all` (names, and when each was last put) and `remove`. Putting is whole or not at all,
and putting again what is there makes it young again.
"""

import os
import tempfile
from collections.abc import Iterator
from functools import cached_property, lru_cache
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings


class Folder:
    def __init__(self, root: Path) -> None:
        self.root = root

    def put(self, name: str, data: bytes) -> None:
        path = self.root / name
        if path.exists():
            os.utime(path)
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, draft = tempfile.mkstemp(dir=path.parent)
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(data)
            os.replace(draft, path)
        except BaseException:
            Path(draft).unlink(missing_ok=True)
            raise

    def get(self, name: str) -> bytes:
        return (self.root / name).read_bytes()

    def has(self, name: str) -> bool:
        return (self.root / name).exists()

    def all(self) -> Iterator[tuple[str, float]]:
        for path in sorted(self.root.glob("*/*")):
            yield path.relative_to(self.root).as_posix(), path.stat().st_mtime

    def remove(self, name: str) -> None:
        (self.root / name).unlink(missing_ok=True)


class Bucket:
    """Any server that speaks S3; address and keys come from the environment, as boto3 reads it (AWS_…)."""

    def __init__(self, bucket: str, folder: str) -> None:
        self.bucket, self.folder = bucket, f"{folder}/" if folder else ""

    @cached_property
    def client(self):
        import boto3  # only where it is used: it takes long to load
        from botocore.config import Config

        config = Config(retries={"mode": "standard", "max_attempts": 4}, connect_timeout=3, read_timeout=10)
        return boto3.client("s3", config=config)

    def put(self, name: str, data: bytes) -> None:
        self.client.put_object(Bucket=self.bucket, Key=self.folder + name, Body=data)

    def get(self, name: str) -> bytes:
        try:
            return self.client.get_object(Bucket=self.bucket, Key=self.folder + name)["Body"].read()
        except self.client.exceptions.NoSuchKey:
            raise FileNotFoundError(name) from None

    def has(self, name: str) -> bool:
        try:
            self.client.head_object(Bucket=self.bucket, Key=self.folder + name)
        except self.client.exceptions.ClientError as error:
            if error.response["ResponseMetadata"]["HTTPStatusCode"] == 404:
                return False
            raise
        return True

    def all(self) -> Iterator[tuple[str, float]]:
        pages = self.client.get_paginator("list_objects_v2").paginate(Bucket=self.bucket, Prefix=self.folder)
        for page in pages:
            for found in page.get("Contents", ()):
                yield found["Key"].removeprefix(self.folder), found["LastModified"].timestamp()

    def remove(self, name: str) -> None:
        self.client.delete_object(Bucket=self.bucket, Key=self.folder + name)


def store() -> Folder | Bucket:
    """The one that the settings name."""
    if not settings.BOARDS_URL:
        return Folder(Path(settings.MEDIA_ROOT))
    parts = urlsplit(settings.BOARDS_URL)
    return _bucket(parts.netloc, parts.path.strip("/"))


@lru_cache(maxsize=4)
def _bucket(bucket: str, folder: str) -> Bucket:
    return Bucket(bucket, folder)
