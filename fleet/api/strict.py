"""What programs send has the JSON types of the description: a number written as text is a mistake, not a number."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request

from fleet.problems import FleetError, FleetErrors

TEXTS = (
    serializers.CharField,
    serializers.DateField,
    serializers.DateTimeField,
    serializers.UUIDField,
)


class Entry(serializers.Serializer[Any]):
    """Something that programs send."""

    def to_internal_value(self, data: Any) -> Any:
        """Read it where every value has its type. Raises DRF's ValidationError."""
        if isinstance(data, Mapping) and (wrong := dict(_misfits_of_object(self, data, ""))):
            raise serializers.ValidationError({name: [sentence] for name, sentence in wrong.items()})
        return super().to_internal_value(data)


def object_sent(request: Request, shape: type[serializers.Serializer[Any]]) -> dict[str, Any]:
    """The request's body, one JSON object whose values have the types of `shape`, for a service that reads the rest.

    Raises FleetErrors.
    """
    sent: Any = request.data
    if not isinstance(sent, dict):
        raise FleetError("not_an_object", "", "Send one JSON object.")
    wrong = [FleetError("wrong_type", path, sentence) for path, sentence in _misfits_of_object(shape(), sent, "")]
    if wrong:
        raise FleetErrors(wrong)
    return dict(sent)


def _misfits_of_object(
    shape: serializers.Serializer[Any], sent: Mapping[str, Any], above: str
) -> Iterator[tuple[str, str]]:
    for name, field in shape.fields.items():
        if name in sent:
            yield from _misfits(field, sent[name], f"{above}.{name}".lstrip("."))


def _misfits(field: Any, value: Any, path: str) -> Iterator[tuple[str, str]]:
    if value is None:
        if not field.allow_null:
            yield path, "Leave this out instead of sending null."
        return
    expected = _expected(field)
    if expected and not _is(value, expected):
        yield path, f"Send {expected} here."
    elif isinstance(field, serializers.BaseSerializer) and isinstance(value, Mapping):
        yield from _misfits_of_object(field, value, path)  # type: ignore[arg-type]
    elif isinstance(value, list) and (child := getattr(field, "child", None)):
        for place, one in enumerate(value):
            yield from _misfits(child, one, f"{path}.{place}")
    elif isinstance(value, Mapping) and (child := getattr(field, "child", None)):
        for name, one in value.items():
            yield from _misfits(child, one, f"{path}.{name}")


def _expected(field: Any) -> str:
    if isinstance(field, serializers.ChoiceField):
        return "a whole number" if all(isinstance(choice, int) for choice in field.choices) else "text"
    for kinds, word in (
        (serializers.BooleanField, "true or false"),
        ((serializers.IntegerField, serializers.PrimaryKeyRelatedField), "a whole number"),
        ((serializers.FloatField, serializers.DecimalField), "a number"),
        (TEXTS, "text"),
        ((serializers.ListField, serializers.ListSerializer), "a list"),
        ((serializers.DictField, serializers.Serializer), "an object"),
    ):
        if isinstance(field, kinds):
            return word
    return ""


def _is(value: Any, expected: str) -> bool:
    if expected == "a whole number":
        return not isinstance(value, bool) and (
            isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        )
    kinds: dict[str, type | tuple[type, ...]] = {
        "true or false": bool, "a number": (int, float), "text": str, "a list": list, "an object": dict,
    }  # fmt: skip
    return isinstance(value, kinds[expected]) and (expected == "true or false" or not isinstance(value, bool))
