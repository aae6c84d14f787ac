"""Base of everything that a planner writes: unknown keys are refused, keys are plain words with spaces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict, Discriminator, ValidationInfo, model_validator

from mci.scenario.known import Known

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Written", "begins_with", "is_one_of", "keys_of"]


def _as_written(name: str) -> str:
    return name.rstrip("_").replace("_", " ")


class Written(BaseModel):
    """A mapping in the scenario file; ``high_pressure_outlets`` is written ``high pressure outlets``."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=_as_written)

    @model_validator(mode="before")
    @classmethod
    def _remember(cls, data: Any, info: ValidationInfo) -> Any:
        """Note what this mapping is and which keys it may have, so that a wrong one can be told with the nearest."""
        if isinstance(info.context, Known) and isinstance(data, dict):
            info.context.shapes[id(data)] = keys_of(cls)
            info.context.classes[id(data)] = cls
        return data


_KEYS: dict[type[BaseModel], Mapping[str, str]] = {}


def keys_of(shape: type[BaseModel]) -> Mapping[str, str]:
    """Return the keys of a mapping as they are written, each with its description."""
    if shape not in _KEYS:
        _KEYS[shape] = {f.alias or name: f.description or "" for name, f in shape.model_fields.items()}
    return _KEYS[shape]


def begins_with(*words: str) -> Discriminator:
    """Tell the lines of a mixed list apart by the word that names what the line is about.

    The tag of each shape is its word in angle brackets, which no key of a file contains.
    """

    def which(value: Any) -> str | None:
        return next((f"<{word}>" for word in words if word in value), None) if isinstance(value, dict) else None

    return Discriminator(
        which,
        custom_error_type="begins_with",
        custom_error_message="must name what it is about with one of: " + ", ".join(words),
        custom_error_context={"words": ",".join(words)},
    )


def is_one_of(key: str, kinds: tuple[str, ...]) -> Discriminator:
    """Tell the lines of a mixed list apart by what stands at one key, whatever its capitals.

    The tag of each shape is the kind in angle brackets.
    """

    def which(value: Any) -> str | None:
        text = value.get(key) if isinstance(value, dict) else None
        kind = text.strip().lower() if isinstance(text, str) else ""
        return f"<{kind}>" if kind in kinds else None

    return Discriminator(
        which,
        custom_error_type="is_one_of",
        custom_error_message="must be one of: " + ", ".join(kinds),
        custom_error_context={"key": key, "kinds": ",".join(kinds)},
    )
