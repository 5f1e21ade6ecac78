"""Kinds of one sort (joints, parts, motors ...): each is a record class, told apart by the key that names it.

A kind's class stands in a file of its own and enters its sort by `Kinds.add`. Whoever reads a rig file, lists what may
stand in it or walks over all kinds asks the sort; nobody else keeps a list of kinds.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Generic, TypeVar

from pydantic import GetCoreSchemaHandler, ValidationError, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from simprop.reading.base import WRONG_KIND, Record

NESTED = "simprop_nested"
"""Type of the error that carries the faults found inside a kind."""

K = TypeVar("K", bound=Record)


class Kinds(Generic[K]):
    """The kinds of one sort by the key that names them, in the order in which they were added.

    As the metadata of a field's type, ``Annotated[JointKind, JOINTS]`` it reads a mapping as the
    kind whose key it has.

    Args:
        what: what one is called in messages, such as ``joint``.
        inside: the figures stand under the key (``{dc: {stall_torque: ...}}``) and not beside it.

    Example:
        >>> from typing import Literal
        >>> from pydantic import Field
        >>> class Peg(Record):
        ...     kind: Literal["peg"] = "peg"
        ...     length: float = Field(alias="peg")
        >>> sort: Kinds[Record] = Kinds("thing")
        >>> _ = sort.add(Peg)
        >>> sort.names, sort.key_of({"peg": 1.0})
        (('peg',), 'peg')
    """

    def __init__(self, what: str, *, inside: bool = False):
        self.what, self.inside = what, inside
        self._classes: dict[str, type[K]] = {}

    def add(self, cls: type[K]) -> type[K]:
        """Take a class in, by the default of its field ``kind``; hands it back, so that it serves as a decorator."""
        self._classes[str(cls.model_fields["kind"].default)] = cls
        return cls

    def remove(self, name: str) -> None:
        """Take a kind out again (a test that added one)."""
        del self._classes[name]

    @property
    def names(self) -> tuple[str, ...]:
        """The keys that name a kind."""
        return tuple(self._classes)

    def __iter__(self) -> Iterator[type[K]]:
        return iter(self._classes.values())

    def __getitem__(self, name: str) -> type[K]:
        return self._classes[name]

    def key_of(self, value: Any) -> str | None:
        """The one key of a mapping that names a kind; None where there is none or more than one."""
        found = [name for name in self._classes if name in value] if isinstance(value, dict) else []
        return found[0] if len(found) == 1 else None

    def read(self, value: Any, context: Any = None) -> K:
        """A mapping as the kind that it names.

        Args:
            value: the mapping, or a record of one of the kinds.
            context: for the validators of fields.

        Raises:
            PydanticCustomError: when it names none or more than one.
            ValidationError: with the faults inside.
        """
        if isinstance(value, Record):
            return value  # type: ignore[return-value]
        key = self.key_of(value)
        if key is None or (self.inside and len(value) > 1):
            raise PydanticCustomError(WRONG_KIND, f"{self.what}: {', '.join(self.names)}")
        return self._classes[key].model_validate(value[key] if self.inside else value, context=context)

    def validated(self, value: Any, info: ValidationInfo) -> K:
        """The same as a validator of a field: faults inside are handed on with their places."""
        try:
            return self.read(value, info.context)
        except ValidationError as error:
            where = (self.key_of(value),) if self.inside else ()
            rows = [{**row, "loc": (*where, *row["loc"])} for row in error.errors(include_url=False)]
            raise PydanticCustomError(NESTED, "faults inside", {"errors": rows}) from None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.validated)


def flat(errors: list[Any]) -> list[Any]:
    """Faults with those that were found inside kinds brought up, each with its whole place.

    Args:
        errors: rows as of pydantic's ``ValidationError.errors``.
    """
    found: list[Any] = []
    for row in errors:
        if row["type"] == NESTED:
            inner = [{**r, "loc": (*row["loc"], *r["loc"])} for r in row["ctx"]["errors"]]
            found += flat(inner)
        else:
            found.append(row)
    return found
