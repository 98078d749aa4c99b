"""What a worker can take from its queue."""

import json
from base64 import b64decode

from celery import current_app
from celery.utils.time import maybe_iso8601

# What a worker reads without looking, where it is there: of which kind it has to be.
HEADERS: dict[str, type | tuple[type, ...]] = {
    **dict.fromkeys(("shadow", "root_id", "parent_id", "group", "argsrepr", "kwargsrepr", "origin", "lang"), str),
    **dict.fromkeys(("eta", "expires"), str),
    **dict.fromkeys(("retries", "group_index", "replaced_task_nesting"), int),
    "timelimit": list,
    "ignore_result": bool,
    "stamped_headers": list,
    "stamps": dict,
}
PROPERTIES: dict[str, type] = {"priority": int, "reply_to": str, "correlation_id": str, "delivery_info": dict}
LONGEST_S = 7 * 86400.0


def check(message: object, queue: str) -> None:
    """ValueError where a worker would stop on `message` or throw it away."""
    try:
        body = _body(message)
        if queue in current_app.amqp.queues:  # the others carry the workers' own talk
            _check_job(message["headers"], message["properties"], body)
    except (KeyError, TypeError, AttributeError, OverflowError, RecursionError) as error:
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


def _check_job(headers: dict, properties: dict, body: list) -> None:
    """An error where these are not a job that is known here, what it is done with, and when."""
    positional, named, after = body
    if not (isinstance(positional, list) and isinstance(named, dict) and isinstance(headers["id"], str)):
        raise TypeError
    if after and any(after.values()):  # nothing that is sent here goes on with another job
        raise ValueError
    _ = current_app.tasks[headers["task"]]
    for facts, kinds in ((headers, HEADERS), (properties, PROPERTIES)):
        for name, kind in kinds.items():
            if facts.get(name) is not None and not isinstance(facts[name], kind):
                raise TypeError
    for name in ("eta", "expires"):
        if headers.get(name) is not None:
            maybe_iso8601(headers[name]).timestamp()
    if headers.get("timelimit"):
        soft, hard = headers["timelimit"]
        if not all(limit is None or (type(limit) in (int, float) and 0 < limit < LONGEST_S) for limit in (soft, hard)):
            raise ValueError
