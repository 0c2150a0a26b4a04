"""What a role may do."""

from collections.abc import Mapping
from enum import StrEnum

from finishing.models.api_token import ApiToken
from finishing.models.user import Role


class Right(StrEnum):
    """Something that people of a company may do or not.

    VISITS: see published visits and what was said of them; comes with READ and with REPORT, and is
    nothing to choose. READ: see everything of the company but its secret addresses. REPORT: say
    what a crew did; a crew lead for their own crew alone. PLAN: edit houses, air and crews' days;
    plan, move, publish. OWN: people, tokens, secret addresses, the company's settings; revoke.
    """

    VISITS = "visits"
    READ = "read"
    REPORT = "report"
    PLAN = "plan"
    OWN = "own"


SCOPES = (Right.READ, Right.REPORT, Right.PLAN, Right.OWN)
"""What a token may be given."""
RIGHTS: Mapping[str, frozenset[Right]] = {
    Role.OWNER: frozenset(Right),
    Role.PLANNER: frozenset({Right.VISITS, Right.READ, Right.REPORT, Right.PLAN}),
    Role.CREW_LEAD: frozenset({Right.VISITS, Right.READ, Right.REPORT}),
    Role.VIEWER: frozenset({Right.VISITS, Right.READ}),
}


def rights_of(role: str) -> frozenset[Right]:
    """Return what somebody of a role may do; nothing for a role that there is not."""
    return RIGHTS.get(role, frozenset())


def may_give(role: str, *, before: str = "", by: frozenset[Right]) -> bool:
    """Return whether who has these rights may give somebody a role: nobody is let do more than
    before that who gives it may not do. before: the role that they had, "" for none."""
    return rights_of(role) - rights_of(before) <= by


def rights_of_token(token: ApiToken) -> frozenset[Right]:
    """Return what a token may do: its scopes, as far as the role of its person goes."""
    scopes = frozenset(right for right in SCOPES if right.value in token.scopes)
    if scopes & {Right.PLAN, Right.OWN}:
        scopes |= {Right.READ}  # nobody edits what they may not see
    if scopes & {Right.READ, Right.REPORT}:
        scopes |= {Right.VISITS}
    return scopes if token.person is None else scopes & rights_of(token.person.role)
