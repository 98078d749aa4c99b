"""The folder broker: nothing half-written is ever read, and each message is taken once."""

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Empty

import pytest
from kombu import Connection
from kombu.transport import filesystem

import coachhub.broker
from coachhub.celery import app
from coachhub.messages import check


@pytest.fixture
def connect(tmp_path):
    for name in ("queue", "control"):
        (tmp_path / name).mkdir()
    options = {"data_folder_in": f"{tmp_path}/queue", "data_folder_out": f"{tmp_path}/queue"}
    options["control_folder"] = f"{tmp_path}/control"
    opened = []

    def to(scheme: str = coachhub.broker.NAME):
        opened.append(Connection(f"{scheme}://localhost//", transport_options=options))
        return opened[-1].channel()

    yield to
    for connection in opened:
        connection.release()


def message(n: int, said: object = None) -> dict:
    """As kombu writes one in the workers' own talk."""
    about = {"n": n, "delivery_tag": f"{n}", "delivery_info": {"exchange": "", "routing_key": "work"}}
    kind = {"content-type": "application/json", "content-encoding": "utf-8"}
    return {"body": json.dumps(said), "headers": {}, "properties": about, **kind}


def job(body: object = ([1], {}, {}), **headers) -> dict:
    """As Celery sends one: what is given is read as sent."""
    return message(1, body) | {"headers": {"id": "1", "task": "sessions.publish", **headers}}


def drained(channel) -> list[int]:
    found = []
    while True:
        try:
            found.append(channel._get("work")["properties"]["n"])
        except Empty:
            return found


def test_messages_come_out_whole_in_their_order_and_leave_nothing_behind(connect, tmp_path):
    channel = connect()
    for n in range(50):
        channel._put("work", message(n, "é" * n))
    channel._put("other", message(99))
    assert channel._size("work") == 50
    assert drained(connect()) == list(range(50))
    assert len(list((tmp_path / "queue").iterdir())) == 1


def test_each_message_is_taken_once_however_many_take_and_put_at_once(connect):
    def put(first: int) -> None:
        channel = connect()
        for n in range(first, first + 200):
            channel._put("work", message(n))

    def take(_) -> list[int]:
        channel, found = connect(), []
        for _ in range(400):
            found += drained(channel)
        return found

    with ThreadPoolExecutor(8) as pool:
        taken = [pool.submit(take, n) for n in range(4)]
        for done in [pool.submit(put, 200 * n) for n in range(4)]:
            done.result()
        found = [n for result in taken for n in result.result()]
    assert sorted(found + drained(connect())) == list(range(800))


@pytest.mark.parametrize("text", ["", "{", "[]", '{"n": 1}', '{"body": 1}', "\x00", "[" * 100_000])
def test_a_message_that_cannot_be_read_is_set_aside_and_the_next_one_is_read(connect, tmp_path, text, caplog):
    channel = connect()
    (tmp_path / "queue" / "0_x.work.msg").write_text(text)  # empty: as kombu's own transport may leave it for a moment
    channel._put("work", message(1))
    assert drained(channel) == [1]
    assert (tmp_path / "queue" / "set-aside" / "0_x.work.msg").read_text() == text
    assert channel.aside() == (1, f"the folder {tmp_path}/queue/set-aside")
    assert "was set aside" in caplog.text


def test_a_job_is_one_that_a_worker_can_do():
    app.loader.import_default_modules()  # as a worker begins
    check(job(timelimit=[None, None], expires="2026-01-01T00:00:00+00:00", eta=None), "celery")
    wrong = [message(1), job([1]), job([1, {}, {}]), job([[1], [], {}]), job(task="of another program"), job(task=[])]
    wrong += [job(id=None), job(expires="tomorrow"), job(timelimit=[1]), job() | {"content-type": "text/plain"}]
    wrong += [job() | {"body": "{"}, job() | {"properties": {"delivery_tag": "1"}}, job() | {"headers": None}, None]
    wrong += [job(timelimit=["a", "b"]), job(timelimit=[-1, 1]), job([[1], {}, {"chord": "x", "chain": [5]}])]
    wrong += [job(eta=5), job(retries="x"), job(origin={}), job(stamps=[1]), job() | {"body": "[" * 100_000}]
    for said in wrong:
        with pytest.raises(ValueError):
            check(said, "celery")


def test_what_the_transport_it_is_made_of_wrote_is_read(connect):
    filesystem.Channel._put(connect(), "work", message(7))  # left by an earlier version
    assert drained(connect()) == [7]


def test_a_table_that_is_being_written_is_waited_for(connect, tmp_path, monkeypatch):
    channel, path = connect(), Path(tmp_path / "control" / "reply.exchange")
    path.write_text("")
    waited = []

    def write(seconds: float) -> None:
        waited.append(seconds)
        path.write_text(json.dumps([["", "", "queue"]]))

    monkeypatch.setattr(coachhub.broker.time, "sleep", write)
    assert [row.queue for row in channel.get_table("reply")] == ["queue"]
    assert waited == [coachhub.broker.PAUSE_S]
