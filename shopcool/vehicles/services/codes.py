"""Keeping what vehicle makers' tables say about trouble codes."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, replace
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require, require_person
from shopcool.vehicles.choices import ISOLATION_CODE, CodeArea
from shopcool.vehicles.models import CodeMeaning
from shopcool.vehicles.policies import may_keep_codes

#: Five characters as SAE J2012 and ISO 15031-6 write them, and the maker's own two or three behind them.
_CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
_DETAIL = re.compile(r"(?=.*\d)[0-9A-F]{2,3}")


@dataclass(frozen=True)
class CodeData:
    """One line of a vehicle maker's table, with where it stands."""

    make: str
    model: str
    code: str
    detail: str
    meaning: str
    area: CodeArea
    source: str


class CodeKnown(Conflict):
    """The table of this model has this code already."""

    code = "code_known"


@transaction.atomic
def code_enter(*, actor: Actor, data: CodeData, now: datetime) -> CodeMeaning:
    """Return what a maker's table says about a code, on file; the same line entered twice is one.

    Raises NotAllowed, CodeKnown when another meaning is on file, and DomainError for what is no code or
    blames a part without the maker's detail code.
    """
    require(may_keep_codes(actor))
    person = require_person(actor)
    line = _checked(data)
    known = _same_code(line)
    if known is not None and CodeData(**{name: getattr(known, name) for name in asdict(line)}) == line:
        return known
    return _save(CodeMeaning(entered_at=now, entered_by_id=person), line)


@transaction.atomic
def code_change(*, actor: Actor, meaning: CodeMeaning, data: CodeData, now: datetime) -> CodeMeaning:
    """Return the line with its new content; answers given before keep what they said then."""
    require(may_keep_codes(actor))
    meaning.entered_at, meaning.entered_by_id = now, require_person(actor)
    return _save(meaning, _checked(data))


@transaction.atomic
def code_remove(*, actor: Actor, meaning: CodeMeaning) -> None:
    """Take a line out of the table; answers given before keep what they said then."""
    require(may_keep_codes(actor))
    meaning.delete()


def _save(meaning: CodeMeaning, line: CodeData) -> CodeMeaning:
    for name, value in asdict(line).items():
        setattr(meaning, name, value)
    try:
        with transaction.atomic():
            meaning.save()
    except IntegrityError as error:
        sentence = _("This code of this model is on file already: change that line.")
        raise CodeKnown(sentence, field="code") from error
    return meaning


def _same_code(line: CodeData) -> CodeMeaning | None:
    return CodeMeaning.objects.filter(
        make__iexact=line.make, model__iexact=line.model, code=line.code, detail=line.detail
    ).first()


def _in_order(text: str) -> str:
    return " ".join(text.split())


def _checked(data: CodeData) -> CodeData:
    """Return the line with its spaces and capitals in order."""
    line = replace(
        data,
        make=_in_order(data.make),
        model=_in_order(data.model),
        code=_in_order(data.code).upper(),
        detail=_in_order(data.detail).upper(),
        meaning=_in_order(data.meaning),
        source=_in_order(data.source),
    )
    if not _CODE.fullmatch(line.code):
        raise DomainError(_("A trouble code has five characters, such as P0AA6."), field="code")
    if line.detail and not _DETAIL.fullmatch(line.detail):
        raise DomainError(
            _("A detail code has two or three characters with a digit, such as 526."), field="detail"
        )
    if line.code == ISOLATION_CODE and not line.detail and line.area != CodeArea.NO_PLACE:
        raise DomainError(
            _("%(code)s alone says that insulation fell, not where: a place needs the maker's detail code.")
            % {"code": ISOLATION_CODE},
            field="area",
        )
    return line
