"""What the page of programs shows: the tokens there are, and one just made."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.form_group import ShownFault, shown_faults
from api.web.token_form import RIGHTS, TokenForm
from finishing.models import ApiToken, Company
from finishing.queries.tokens import tokens_of
from finishing.services.tokens import PREFIX, is_good
from scheduling.wording import listed, moment


@dataclass(frozen=True)
class TokenLine:
    """A token. is_good: it may be used; may: what; the moments in words, blank for never."""

    row: ApiToken
    is_good: bool
    may: str
    used: str
    expires: str
    revoked: str

    @property
    def shown(self) -> str:
        """What people know it by: how every secret begins, and how this one ends."""
        return f"{PREFIX}…{self.row.ending}"


@dataclass(frozen=True)
class TokensPage:
    """All that the page shows. secret: of a token that has just been made, else blank."""

    tokens: Sequence[TokenLine]
    form: TokenForm
    faults: Sequence[ShownFault]
    secret: str = ""


def tokens_page(
    company: Company, now: datetime, *, form: TokenForm | None = None, secret: str = ""
) -> TokensPage:
    """Return the page. form: one that was sent and not taken, with its faults."""
    zone = ZoneInfo(company.zone)
    lines = [_line(token, now, zone) for token in tokens_of(company)]
    shown = form or TokenForm(company)
    return TokensPage(lines, shown, shown_faults([shown]), secret)


def _line(token: ApiToken, now: datetime, zone: ZoneInfo) -> TokenLine:
    return TokenLine(
        row=token,
        is_good=is_good(token, now=now),
        may=listed([str(said) for right, said in RIGHTS if right in token.scopes]),
        used=moment(token.used_at, zone) if token.used_at else "",
        expires=moment(token.expires_at, zone) if token.expires_at else "",
        revoked=moment(token.revoked_at, zone) if token.revoked_at else "",
    )
