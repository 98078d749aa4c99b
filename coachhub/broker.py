"""The broker of the embedded default, messages as files in a folder: kombu's, but each is there whole or not at all.

kombu opens a message's file under its own name before it writes it, so that a worker which looks in that moment reads
an empty one and stops. Here it is written aside and renamed, and taken by renaming, which one worker alone can do.
"""

import json
import logging
import os
import time
from pathlib import Path
from queue import Empty
from uuid import uuid4

from kombu.transport import TRANSPORT_ALIASES, filesystem

NAME = "folders"  # of the transport, in the broker's address
PARTS = {"body", "headers", "properties"}  # of a message, without which a worker would stop
ASIDE = "set-aside"  # folder
TRIES, PAUSE_S = 20, 0.01  # of reading a table that somebody is writing

logger = logging.getLogger(__name__)


class Channel(filesystem.Channel):
    def _put(self, queue: str, payload: dict, **kwargs) -> None:
        folder, key = Path(self.data_folder_out), uuid4()
        draft = folder / f".{key}.draft"
        draft.write_text(json.dumps(payload))
        draft.rename(folder / f"{time.time_ns():020d}_{key}.{queue}.msg")

    def _get(self, queue: str) -> dict:
        """The oldest message; one that cannot be read is set aside and told, and keeps nobody waiting."""
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
                if not (isinstance(payload, dict) and payload.keys() >= PARTS):
                    raise ValueError("it is no message")
            except ValueError:
                self._set_aside(taken, name)
                continue
            taken.unlink()
            return payload
        raise Empty

    def _set_aside(self, taken: Path, name: str) -> None:
        aside = taken.parent / ASIDE
        aside.mkdir(exist_ok=True)
        taken.rename(aside / name)
        logger.error("message %s cannot be read; it lies in %s now", name, aside)

    def get_table(self, exchange: str) -> list:
        for _ in range(TRIES):
            try:
                return super().get_table(exchange)
            except ValueError:
                time.sleep(PAUSE_S)
        return super().get_table(exchange)


class Transport(filesystem.Transport):
    Channel = Channel


TRANSPORT_ALIASES[NAME] = f"{__name__}:Transport"
