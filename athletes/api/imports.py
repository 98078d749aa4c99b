"""Spreadsheets over the API: brought in, checked, kept, taken back."""

from base64 import b64decode
from binascii import Error as NotBase64

from django.core.exceptions import ValidationError
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.api.base import ReadOnly, found, refusals_as_conflicts, valid
from athletes.api.problems import MEDIA_TYPE, Conflict, ProblemSerializer
from athletes.api.strict import Strict
from athletes.importing.forms import LOAD_UNITS, ColumnsForm
from athletes.importing.read import MOST_NAMES, doubtful_names, unknown_names
from athletes.importing.sheets.columns import HOURS, HUNDREDTHS, MINUTES, SECONDS
from athletes.importing.sheets.dates import Order
from athletes.importing.sheets.reading import MOST_BYTES
from athletes.importing.write import (
    import_begin,
    import_cancel,
    import_check,
    import_discard,
    import_keep,
    import_reread,
    import_take_back,
)
from athletes.models import Athlete, Benchmark, Import, ImportRemark

MOST_COLUMNS = 500
MOST_TEXT = 2_000_000


class SheetSerializer(serializers.Serializer):
    """How a sheet is read. What is left out stays as it was guessed."""

    sheet = serializers.CharField(read_only=True)
    rows = serializers.IntegerField(read_only=True)
    heading_row = serializers.IntegerField(read_only=True)
    headings = serializers.ListField(child=serializers.CharField(allow_blank=True), read_only=True)
    take = serializers.BooleanField(required=False, help_text="Whether the sheet is brought in.")
    uses = serializers.ListField(
        child=serializers.CharField(max_length=40, allow_blank=True),
        max_length=MOST_COLUMNS,
        required=False,
        help_text="What each column is for, as the page offers it; empty for nothing.",
    )
    order = serializers.ChoiceField(
        ["", *map(str, Order)], required=False, help_text="Of dates in numbers; empty where there are none."
    )
    day = serializers.CharField(
        max_length=10, allow_blank=True, required=False, help_text="Of results without one, as 2026-11-29; or empty."
    )
    load_unit = serializers.ChoiceField(["", *(unit for unit, _ in LOAD_UNITS)], required=False)
    clock = serializers.ChoiceField([MINUTES, HOURS], required=False, help_text="What 1:41:00 means.")
    point = serializers.ChoiceField([SECONDS, HUNDREDTHS], required=False, help_text="What 8.22 minutes means.")
    bench = serializers.PrimaryKeyRelatedField(
        queryset=Benchmark.objects.filter(archived=False),
        required=False,
        allow_null=True,
        help_text="The benchmark of all results.",
    )

    def to_representation(self, part: dict) -> dict:
        return {name: part.get(name) for name in self.fields}


class ImportSerializer(serializers.ModelSerializer):
    """A file, where it stands, what became of its rows, and how it is read."""

    parts = SheetSerializer(source="reading.parts", many=True)

    class Meta:
        model = Import
        fields = ["id", "key", "filename", "state", "done", "total", "counts", "failure", "parts"]
        fields += ["create_athletes", "made_at", "finished_at", "taken_back_at"]


class FileSerializer(Strict, serializers.Serializer):
    """A table as `text`, or any file as base64 in `content`: one of the two."""

    key = serializers.UUIDField(required=False, help_text="Made by the client: the same key again brings in one file.")
    filename = serializers.CharField(max_length=120, default="pasted table")
    text = serializers.CharField(max_length=MOST_TEXT, trim_whitespace=False, required=False)
    content = serializers.CharField(required=False, help_text="CSV or .xlsx as base64, 20 MB of it at most.")

    def validate(self, sent: dict) -> dict:
        if ("text" in sent) == ("content" in sent):
            raise serializers.ValidationError("Send text or content, one of the two.")
        if "text" in sent:
            return {**sent, "bytes": sent["text"].encode()}
        try:
            content = b64decode(sent["content"], validate=True)
        except (NotBase64, ValueError):
            raise serializers.ValidationError({"content": ["This is not base64."]}) from None
        if len(content) > MOST_BYTES:
            raise serializers.ValidationError(
                {"content": ["The file is larger than 20 MB. Divide it, and bring in one by one."]}
            )
        return {**sent, "bytes": content}


class CheckSerializer(Strict, serializers.Serializer):
    """How the file is to be read, as far as it was not guessed rightly."""

    parts = SheetSerializer(many=True, required=False, max_length=40, help_text="All sheets, in their order.")
    names = serializers.DictField(
        child=serializers.IntegerField(min_value=1, max_value=2**62),
        required=False,
        help_text=f"Which benchmark (id) is meant by a name that none has, {MOST_NAMES} at most.",
    )

    people = serializers.DictField(
        child=serializers.IntegerField(min_value=1, max_value=2**62, allow_null=True),
        required=False,
        help_text=f"Which athlete (id) is meant by a name like theirs; null for somebody new; {MOST_NAMES} at most.",
    )

    def validate_people(self, people: dict[str, int | None]) -> dict[str, int | None]:
        if len(people) > MOST_NAMES:
            raise serializers.ValidationError(f"Send {MOST_NAMES} names at most, and the others after the next check.")
        found(Athlete.objects.all(), [pk for pk in people.values() if pk is not None])
        return people

    def validate_names(self, names: dict[str, int]) -> dict[str, int]:
        if len(names) > MOST_NAMES:
            raise serializers.ValidationError(f"Send {MOST_NAMES} names at most, and the others after the next check.")
        found(Benchmark.objects.filter(archived=False), names.values())
        return names


class RereadSerializer(Strict, serializers.Serializer):
    """In which row of which sheet (from 0) the headings stand."""

    part = serializers.IntegerField(min_value=0, max_value=39)
    heading_row = serializers.IntegerField(min_value=1, max_value=2000)


class KeepSerializer(Strict, serializers.Serializer):
    """What is kept beside everything that was found right."""

    create_athletes = serializers.BooleanField(default=False, help_text="Add athletes who are not here yet.")
    wanted = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=2**62),
        max_length=5000,
        default=list,
        help_text="Ids of questioned remarks that are right all the same.",
    )


class ImportRemarkSerializer(serializers.ModelSerializer):
    """What is to be said of one cell; `kept` is a new result and `fact` a new fact, which nothing is wrong with."""

    class Meta:
        model = ImportRemark
        fields = ["id", "kind", "sheet", "row", "column", "subject", "text", "wanted"]
        fields += ["benchmark", "performed_on", "result"]


@extend_schema_view(destroy=extend_schema(responses={204: None, (409, MEDIA_TYPE): ProblemSerializer}))
class ImportViewSet(mixins.DestroyModelMixin, ReadOnly):
    """Files, the newest first. Large ones are worked on by the worker: look at `state` again until it has moved on.

    409 where a file has gone on meanwhile. One that is deleted is forgotten; what was kept of it stays, and so does
    its row, by which to take it back.
    """

    queryset = Import.objects.defer("content", "touched")
    serializer_class = ImportSerializer
    filterset_fields = ["state"]
    ordering_fields = ["made_at", "id"]

    @extend_schema(request=FileSerializer, responses={201: ImportSerializer})
    def create(self, request: Request) -> Response:
        """Bring a file in; nothing of it is kept yet."""
        said = valid(FileSerializer, request)
        try:
            source = import_begin(
                key=said.get("key") or Import().key,
                filename=said["filename"],
                content=said["bytes"],
                by=request.user,
            )
        except ValidationError as error:
            errors = serializers.as_serializer_error(error)
            if "file" in errors:  # as the page calls it
                errors["text" if "text" in said else "content"] = errors.pop("file")
            raise serializers.ValidationError(errors) from None
        return self._answer(source.pk, status.HTTP_201_CREATED)

    def perform_destroy(self, source: Import) -> None:
        with refusals_as_conflicts():
            import_discard(source=source)

    @extend_schema(request=CheckSerializer, responses=ImportSerializer)
    @action(detail=True, methods=["post"])
    def check(self, request: Request, pk: str | None = None) -> Response:
        """Have the whole file checked, read as it is said here."""
        said, source = valid(CheckSerializer, request), self.get_object()
        if source.running or not source.content:
            return self._moved(pk, import_check, source=source)
        reading = {"parts": _parts(source, said.get("parts"))}
        for field, waiting in (("names", unknown_names), ("people", doubtful_names)):
            if field in said:
                strange = sorted(said[field].keys() - waiting(source))
                if strange:
                    raise serializers.ValidationError(
                        {field: [f"No result of the file waits for “{strange[0][:60]}”."]}
                    )
                reading[field] = {**source.reading.get(field, {}), **said[field]}
        return self._moved(pk, import_check, source=source, **reading)

    @extend_schema(request=RereadSerializer, responses=ImportSerializer)
    @action(detail=True, methods=["post"])
    def reread(self, request: Request, pk: str | None = None) -> Response:
        """Guess one sheet anew, with another row of headings."""
        said, source = valid(RereadSerializer, request), self.get_object()
        if said["part"] >= len(source.reading["parts"]):
            raise serializers.ValidationError({"part": ["There is no such sheet."]})
        return self._moved(pk, import_reread, source=source, **said)

    @extend_schema(request=KeepSerializer, responses=ImportSerializer)
    @action(detail=True, methods=["post"])
    def keep(self, request: Request, pk: str | None = None) -> Response:
        """Keep what the check found right."""
        return self._moved(pk, import_keep, source=self.get_object(), **valid(KeepSerializer, request))

    @extend_schema(request=None, responses=ImportSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str | None = None) -> Response:
        """Stop a check or a keeping that is under way; what a keeping kept is taken back. 409 where there is none."""
        if not import_cancel(source=self.get_object(), by=request.user):
            raise Conflict("No check or keeping of this file is under way. Look at its state.")
        return self._answer(pk)

    @extend_schema(request=None, responses=ImportSerializer)
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, pk: str | None = None) -> Response:
        """Void everything that was kept of the file, and remove whom it added where nothing else rests on them."""
        return self._moved(pk, import_take_back, source=self.get_object(), by=request.user)

    @extend_schema(responses=ImportRemarkSerializer(many=True))
    @action(detail=True, filterset_fields=[], ordering_fields=[], paged=True)
    def remarks(self, request: Request, pk: str | None = None) -> Response:
        """Everything there is to say of the file, row by row."""
        page = self.paginate_queryset(self.get_object().remarks.all())
        return self.get_paginated_response(ImportRemarkSerializer(page, many=True).data)

    def _moved(self, pk: str | None, service, **sent) -> Response:
        with refusals_as_conflicts():
            service(**sent)
        return self._answer(pk)

    def _answer(self, pk, code: int = status.HTTP_200_OK) -> Response:
        return Response(self.get_serializer(self.get_queryset().get(pk=pk)).data, status=code)


def _parts(source: Import, sent: list[dict] | None) -> list[dict]:
    """The parts of a file as they are said to be read, or guessed, by the rules of the page."""
    known = source.reading["parts"]
    sent = [{} for _ in known] if sent is None else sent
    if len(sent) != len(known):
        raise serializers.ValidationError({"parts": [f"This file has {len(known)} sheets. Send all, in their order."]})
    data: dict[str, object] = {}
    for number, (part, said) in enumerate(zip(known, sent, strict=True)):
        uses = said.get("uses", part["uses"])
        if len(uses) != len(part["headings"]):
            raise serializers.ValidationError({"parts": [f"Sheet {number + 1} has {len(part['headings'])} columns."]})
        guessed = ("take", "order", "day", "load_unit", "clock", "point", "bench")
        read = {name: part.get(name) for name in guessed} | said
        read["bench"] = getattr(read["bench"], "pk", read["bench"])
        data |= {f"{number}-{name}": "" if value is None else value for name, value in read.items() if name != "uses"}
        data |= {f"{number}-use-{index}": use for index, use in enumerate(uses)}
    form = ColumnsForm(data, source=source)
    if not form.is_valid():
        wrong = [
            f"Sheet {number}: {words}"
            for number, one in enumerate(form, start=1)
            for own in one.errors.values()
            for words in own
        ]
        raise serializers.ValidationError({"parts": wrong or [form.error]})
    return form.parts()
