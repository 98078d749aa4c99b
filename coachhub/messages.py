"""What a worker can take from its queue."""

import json
from base64 import b64decode

from celery import current_app
from celery.utils.time import maybe_iso8601


def check(message: object, queue: str) -> None:
    """ValueError where a worker would stop on `message` or throw it away."""
    try:
        body = _body(message)
        if queue in current_app.amqp.queues:  # the others carry the workers' own talk
            _check_job(message["headers"], body)
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError from error


def _body(message: dict) -> object:
    """What the message says, read as a worker does, who needs what has to stand around it too."""
    properties = message["properties"]
    _ = properties["delivery_info"]["exchange"], properties["delivery_info"]["routing_key"]
    if (message["content-type"], message["content-encoding"].lower()) != ("application/json", "utf-8"):
        raise ValueError
    if not isinstance(properties["delivery_tag"], str):
        raise TypeError
    body = message["body"]
    if properties.get("body_encoding") == "base64":
        body = b64decode(body, validate=True).decode()
    return json.loads(body)


def _check_job(headers: dict, body: list) -> None:
    """An error where these are not a job that is known here, what it is done with, and when."""
    positional, named, _ = body
    if not (isinstance(positional, list) and isinstance(named, dict) and isinstance(headers["id"], str)):
        raise TypeError
    _ = current_app.tasks[headers["task"]]
    for name in ("eta", "expires"):
        if headers.get(name) is not None:
            maybe_iso8601(headers[name])
    if headers.get("timelimit"):
        _soft, _hard = headers["timelimit"]
