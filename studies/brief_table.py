"""What every table of a brief is made of."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


def number(low: float, high: float, meaning: str, default: Any = ...) -> Any:
    """Field that takes numbers from ``low`` to ``high``; required unless it has a default."""
    return Field(default, ge=low, le=high, description=meaning, json_schema_extra={"low": low, "high": high})


class Table(BaseModel):
    """A table of a brief: unknown keys, wrong types, NaN and infinity are refused."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)
