"""JSON taken at its word: a number is no text, a text no number, and “yes” is not true."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

TEXTS = (
    serializers.CharField,
    serializers.DateField,
    serializers.DateTimeField,
    serializers.TimeField,
    serializers.UUIDField,
    serializers.SlugRelatedField,
)


class Strict:
    """Of a serializer: refuses values whose JSON type is not the one that the schema gives, nested ones too."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping) and (errors := _wrong(self, data)):
            raise serializers.ValidationError(errors)
        return super().to_internal_value(data)


def _wrong(field: serializers.Field, value: Any) -> Any:
    """What is wrong with a value's types, as errors of the field; nothing where all is well."""
    if value is None or field.read_only:  # whether null may be is the field's own to say
        return None
    if isinstance(field, serializers.ListSerializer | serializers.ListField):
        errors = [_wrong(field.child, one) or {} for one in value] if isinstance(value, list) else []
        return errors if any(errors) else None
    if isinstance(field, serializers.BaseSerializer):
        own = value if isinstance(value, Mapping) else {}
        found = {name: _wrong(one, own[name]) for name, one in field.fields.items() if name in own}
        return {name: errors for name, errors in found.items() if errors} or None
    return None if _fits(field, value) else [str(field.error_messages.get("invalid", "Send a text."))]


def _fits(field: serializers.Field, value: Any) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if isinstance(field, serializers.BooleanField):
        return isinstance(value, bool)
    if isinstance(field, serializers.IntegerField | serializers.PrimaryKeyRelatedField):
        return number and value == int(value)
    if isinstance(field, serializers.FloatField):
        return number
    if type(field) is serializers.ChoiceField and all(isinstance(one, int | float) for one in field.choices):
        return number
    chosen = type(field) is serializers.ChoiceField and all(isinstance(one, str) for one in field.choices)
    return isinstance(value, str) if chosen or isinstance(field, TEXTS) else True
