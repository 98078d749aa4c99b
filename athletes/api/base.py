"""What all views of the API share: parameters that are known or refused, ETags, and requests that are sent twice."""

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.core.validators import MinValueValidator
from django.db import IntegrityError, transaction
from django.db.models import Manager, Model, QuerySet
from django.forms import BaseForm
from django_filters import BooleanFilter
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.problems import Conflict, PreconditionFailed, Unprocessable
from athletes.audit.keeping import entry_about
from athletes.fields import whole_number
from athletes.models import ApiAnswer

LONGEST_KEY = 200


@contextmanager
def refusals_as_answers() -> Iterator[None]:
    """What a service refuses, as an answer 400 with the same words."""
    try:
        yield
    except ValidationError as error:
        raise serializers.ValidationError(serializers.as_serializer_error(error)) from None


@contextmanager
def refusals_as_conflicts() -> Iterator[None]:
    """What does not fit what is kept by now, as an answer 409 with the same words."""
    try:
        yield
    except ValidationError as error:
        raise Conflict(" ".join(error.messages)) from None


def valid(form: type[serializers.Serializer], request: Request) -> dict[str, Any]:
    """What was sent, once it is valid."""
    serializer = form(data=request.data)
    serializer.is_valid(raise_exception=True)
    return dict(serializer.validated_data)


def valid_form(form: BaseForm) -> dict[str, Any]:
    """What a page's own form reads of what was sent; refused by field in its words."""
    if not form.is_valid():
        names = {NON_FIELD_ERRORS: "non_field_errors"}
        raise serializers.ValidationError({names.get(name, name): list(said) for name, said in form.errors.items()})
    return form.cleaned_data


def found(rows: QuerySet, ids: Iterable[int]) -> list[Model]:
    """The rows with these ids, in their order and each once; one query. ValidationError where there is none of one."""
    by_id = rows.in_bulk(wanted := list(dict.fromkeys(ids)))
    if missing := [str(pk) for pk in wanted if pk not in by_id]:
        raise serializers.ValidationError(f"There is none here with the id {', '.join(missing)}.")
    return [by_id[pk] for pk in wanted]


class Rows(serializers.ListField):
    """Rows by their ids; one query, however many they are."""

    child = serializers.IntegerField(min_value=1, max_value=2**62)

    def __init__(self, *, queryset: QuerySet, **kwargs: Any) -> None:
        self.queryset = queryset
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> list[Model]:
        return found(self.queryset, super().to_internal_value(data))

    def to_representation(self, rows: Manager) -> list[int]:
        return [row.pk for row in rows.all()]


@extend_schema_field({"type": "string", "pattern": "^([01]?[0-9]|2[0-3]):[0-5]?[0-9]$", "example": "18:30"})
class HourField(serializers.TimeField):
    """A time of day on the gym's own clock."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%H:%M", input_formats=["%H:%M"], **kwargs)


class MomentField(serializers.DateTimeField):
    """A moment from the year 2000 on: zones of long ago have seconds, which no date-time in JSON can say."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(validators=[MinValueValidator(datetime(2000, 1, 1, tzinfo=UTC))], **kwargs)


class Refusals:
    """Query parameters that mean nothing here are refused, and a POST with an Idempotency-Key is done once."""

    once = True  # whether an Idempotency-Key is heeded: not where the answer is a secret, which would be kept
    paged = False  # of an action: whether it answers with a list, a page at a time

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        known, errors = self._parameters(), {}
        for name, sent in request.query_params.lists():
            if name not in known:
                errors[name] = f"There is no such parameter here. Known: {', '.join(sorted(known)) or 'none'}."
            elif len(sent) > 1:
                errors[name] = "Send this once."
            elif not sent[0] and name != "search":
                errors[name] = "This is empty. Leave it out, or send a value."
            elif known[name] and sent[0] not in ("true", "false"):
                errors[name] = "Send true or false."
        if errors:
            raise serializers.ValidationError({name: [words] for name, words in errors.items()})

    def _parameters(self) -> dict[str, bool]:
        """The query parameters that the schema gives to this operation, and whether each is true or false."""
        if getattr(self, "action", None) != "list" and not self.paged:
            return {}
        names: dict[str, bool] = {}
        for backend in getattr(self, "filter_backends", ()):
            if hasattr(backend, "get_filterset_class"):
                chosen = backend().get_filterset_class(self, self.get_queryset())
                filters = chosen.base_filters if chosen else {}
                names |= {name: isinstance(one, BooleanFilter) for name, one in filters.items()}
            else:
                names |= {found["name"]: False for found in backend().get_schema_operation_parameters(self)}
        return names | ({"page": False, "page_size": False} if getattr(self, "paginator", None) else {})

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        if request.method != "POST" or not self.once or not request.headers.get("Idempotency-Key"):
            return super().dispatch(request, *args, **kwargs)
        with transaction.atomic():
            response = super().dispatch(request, *args, **kwargs)
            self._remember(response)
            return response

    def check_permissions(self, request: Request) -> None:
        """Once it is known who asks: what was answered before is answered again."""
        super().check_permissions(request)
        key = request.headers.get("Idempotency-Key", "")[:LONGEST_KEY]
        if request.method != "POST" or not self.once or not key:
            return
        sent = json.dumps(request.data, sort_keys=True, default=str)
        fingerprint = sha256(f"{request.path}\n{sent}".encode()).hexdigest()
        athlete = getattr(request.user, "athlete", None)
        caller = f"athlete {athlete.pk}" if athlete else f"account {request.user.pk}"
        self.answer = ApiAnswer(caller=caller, key=key, fingerprint=fingerprint)
        try:
            with transaction.atomic():  # who sends the same at the same moment waits here until this one is done
                self.answer.save(force_insert=True)
        except IntegrityError:
            kept = ApiAnswer.objects.get(caller=caller, key=key)
            self.answer = None
            if kept.fingerprint != fingerprint:
                raise Unprocessable from None
            raise Answered(kept) from None

    def handle_exception(self, error: Exception) -> Response:
        if isinstance(error, Answered):
            return Response(error.kept.body, status=error.kept.status)
        return super().handle_exception(error)

    def _remember(self, response: Any) -> None:
        """Keep the answer of what was done; what was refused may be sent again under the same key."""
        answer = getattr(self, "answer", None)
        if answer is None:
            return
        if response.status_code >= 400:
            ApiAnswer.objects.filter(pk=answer.pk).delete()
        else:
            content = response.rendered_content if not response.is_rendered else response.content
            body = json.loads(content) if content else None
            ApiAnswer.objects.filter(pk=answer.pk).update(status=response.status_code, body=body)


class Answered(Exception):
    """The request was answered before."""

    def __init__(self, kept: ApiAnswer) -> None:
        super().__init__()
        self.kept = kept


class Edited:
    """What can be edited carries an ETag; a change with If-Match is refused where the row has moved on (RFC 9110)."""

    edited = True  # for the schema

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        response = super().retrieve(request, *args, **kwargs)
        response["ETag"] = tag = etag_of(response.data)
        if tag in _tags(request.headers.get("If-None-Match", "")):
            return Response(status=304, headers={"ETag": tag})
        return response

    @transaction.atomic
    def update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        if sent := request.headers.get("If-Match"):
            row = type(self.get_object())._base_manager.select_for_update().get(pk=self.get_object().pk)
            kept = etag_of(self.get_serializer(self.get_queryset().get(pk=row.pk)).data)
            if sent.strip() != "*" and kept not in _tags(sent):
                raise PreconditionFailed
        response = super().update(request, *args, **kwargs)
        response["ETag"] = etag_of(self.get_serializer(self.get_queryset().get(pk=kwargs["pk"])).data)
        return response


class ReadOnly(Refusals, viewsets.ReadOnlyModelViewSet):
    """A list, and each of it."""


class OfAthletes(ReadOnly):
    """What is private to an athlete each: the audit tells about whom it was asked."""

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        entry_about(request, whole_number(request.query_params.get("athlete", "")))
        return super().list(request, *args, **kwargs)

    def get_object(self) -> Any:
        kept = super().get_object()
        entry_about(self.request, kept.athlete_id)
        return kept


class Editable(Refusals, Edited, viewsets.ModelViewSet):
    """A list, each of it, and what changes it."""


def etag_of(data: Any) -> str:
    """A strong entity tag of a representation."""
    return f'"{sha256(json.dumps(data, sort_keys=True, default=str).encode()).hexdigest()[:32]}"'


def _tags(header: str) -> list[str]:
    return [tag.strip().removeprefix("W/") for tag in header.split(",")]
