"""The broker, folders or Redis: what a worker could only stop on, or throw away, is set aside where it can be seen.

Folders are the embedded default, messages as files: kombu's, but each is there whole or not at all. kombu opens a
message's file under its own name before it writes it, so that a worker which looks in that moment reads an empty one
and stops. Here it is written aside and renamed, and taken by renaming, which one worker alone can do.
"""

import json
import logging
import os
import time
from pathlib import Path
from queue import Empty
from uuid import uuid4

from kombu.transport import TRANSPORT_ALIASES, filesystem, redis

from coachhub.messages import check

NAME = "folders"  # of the transport, in the broker's address
ASIDE = "set-aside"  # folder, and list in Redis
MOST_ASIDE = 1000  # in Redis, which keeps them in memory
TRIES, PAUSE_S = 20, 0.01  # of reading a table that somebody is writing

logger = logging.getLogger(__name__)


class FolderChannel(filesystem.Channel):
    def _put(self, queue: str, payload: dict, **kwargs) -> None:
        folder, key = Path(self.data_folder_out), uuid4()
        draft = folder / f".{key}.draft"
        draft.write_text(json.dumps(payload))
        draft.rename(folder / f"{time.time_ns():020d}_{key}.{queue}.msg")

    def _get(self, queue: str) -> dict:
        """The oldest message; one that no worker could take is set aside and told, and keeps nobody waiting."""
        folder = Path(self.data_folder_in)
        for name in sorted(os.listdir(folder)):
            if name.partition(".")[2] != f"{queue}.msg":
                continue
            taken = folder / f".{uuid4()}.taken"
            try:
                (folder / name).rename(taken)
            except FileNotFoundError:  # another worker was first
                continue
            try:
                payload = json.loads(taken.read_text())
                check(payload, queue)
            except (ValueError, RecursionError):
                (folder / ASIDE).mkdir(exist_ok=True)
                taken.rename(folder / ASIDE / name)
                _tell()
                continue
            taken.unlink()
            return payload
        raise Empty

    def aside(self) -> tuple[int, str]:
        """How many messages were set aside, and where they lie."""
        folder = Path(self.data_folder_in) / ASIDE
        return sum(1 for _ in folder.glob("*.msg")), f"the folder {folder}"

    def get_table(self, exchange: str) -> list:
        for _ in range(TRIES):
            try:
                return super().get_table(exchange)
            except ValueError:
                time.sleep(PAUSE_S)
        return super().get_table(exchange)


class FolderTransport(filesystem.Transport):
    Channel = FolderChannel


class RedisChannel(redis.Channel):
    def _brpop_read(self, **options) -> bool:
        """As kombu's, which lets the worker stop on what is no JSON. By then it is off the queue: the error has it."""
        try:
            return super()._brpop_read(**options)
        except json.JSONDecodeError as error:
            self.set_aside(error.doc)
        except UnicodeDecodeError as error:
            self.set_aside(error.object)
        except RecursionError:
            self.set_aside("a message nested too deeply to be read")
        raise Empty

    def set_aside(self, message: str | bytes) -> None:
        with self.conn_or_acquire() as client:
            client.lpush(ASIDE, message)
            client.ltrim(ASIDE, 0, MOST_ASIDE - 1)
        _tell()

    def aside(self) -> tuple[int, str]:
        """How many messages were set aside, and where they lie."""
        with self.conn_or_acquire() as client:
            return client.llen(ASIDE), f"the list {ASIDE} of Redis"


class RedisTransport(redis.Transport):
    Channel = RedisChannel

    def _deliver(self, message: object, queue: str) -> None:
        try:
            check(message, queue)
        except ValueError:
            self.channels[0].set_aside(json.dumps(message))
        else:
            super()._deliver(message, queue)


def _tell() -> None:
    # Nothing of what stands in it, which may be about somebody.
    logger.error("A message in the queue cannot be read and was set aside; `manage.py doctor` says where it lies.")


TRANSPORT_ALIASES[NAME] = f"{__name__}:FolderTransport"
TRANSPORT_ALIASES["redis"] = TRANSPORT_ALIASES["rediss"] = f"{__name__}:RedisTransport"
