"""Every address: who may look at it, who may write to it. A new address is a line here."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from finishing.queries.rights import Right
from finishing.services.file_imports import FileKind

READ, REPORT, PLAN, OWN = Right.READ, Right.REPORT, Right.PLAN, Right.OWN
VISITS = Right.VISITS
OPEN, SECRET = "open to all", "opened by the secret in it"


@dataclass(frozen=True)
class May:
    """What an address asks of who comes to it. None: it has no such answer (405).

    parts: what stands in the address besides ids of rows. sent: what a write sends. shown,
    written: the answers to who may, where they are not the usual ones. also: a right that a write
    needs besides.
    """

    look: str | None = READ
    write: str | None = None
    parts: Mapping[str, Any] = field(default_factory=dict)
    sent: Mapping[str, Any] = field(default_factory=dict)
    shown: frozenset[int] = frozenset({200})
    written: frozenset[int] = frozenset({200, 201, 202, 302, 409, 422})
    also: str | None = None


def page(**parts: Any) -> May:
    """A page to look at."""
    return May(parts=parts)


def for_planners(**parts: Any) -> May:
    """A page that nobody else has any use for."""
    return May(look=PLAN, parts=parts)


def form(write: str = PLAN, *, look: str = READ, **parts: Any) -> May:
    """A page with a form that is sent to its own address."""
    return May(look=look, write=write, parts=parts)


def takes(write: str = PLAN, *, sent: Mapping[str, Any] | None = None, **parts: Any) -> May:
    """An address that only takes a form."""
    return May(look=None, write=write, parts=parts, sent=sent or {})


ENDED = frozenset({410})
TO_THE_PASSWORD = frozenset({302})
HOUSE = "houses/<house:public_id>/"
PAGES: Mapping[str, May] = {
    "": page(),
    "fit/": page(),
    "odds/": page(),
    "first/": May(OPEN, OPEN, shown=TO_THE_PASSWORD, written=TO_THE_PASSWORD),  # it is closed
    "sign-in/": May(look=OPEN, write=OPEN, shown=frozenset({200, 302})),
    "sign-out/": May(look=None, write=OPEN),
    "sign-in/code/": May(OPEN, OPEN, shown=TO_THE_PASSWORD, written=TO_THE_PASSWORD),
    "account/second-step/": form(READ),
    "password/forgotten/": May(OPEN, OPEN),
    "password/forgotten/sent/": May(OPEN),
    "password/new/<uidb64>/<token>/": May(OPEN, OPEN, {"uidb64": "MQ", "token": "none"}),
    "account/": page(),
    "account/password/": form(READ),
    "account/sessions/end/": takes(READ),
    "account/sessions/<user_session:public_id>/end/": May(
        look=None, write=READ, written=frozenset({404})
    ),  # it is somebody else's
    "company/import/": for_planners(),
    "company/import/<slug:kind>/": form(look=PLAN, kind="air"),
    "company/import/<slug:kind>/example/": for_planners(kind="air"),
    "week/": page(),
    "week/material/": May(shown=frozenset({302})),  # for the script of a week
    "week/<day:day>/": page(),
    "week/<day:day>/crews/<crew:public_id>/sheet/": page(),
    "houses/": page(),
    "houses/weeks/": page(),
    "houses/weeks/<day:day>/": page(),
    HOUSE: page(),
    f"{HOUSE}readiness/<slug:item>/": takes(item="heat"),
    "houses/new/": form(look=PLAN),
    f"{HOUSE}remove/": form(look=PLAN),
    f"{HOUSE}active/": takes(),
    f"{HOUSE}rooms/": form(),
    f"{HOUSE}areas/<area:area_id>/": form(),
    f"{HOUSE}areas/<area:area_id>/totals/": takes(),
    f"{HOUSE}rooms/<room:room_id>/": form(),
    f"{HOUSE}rooms/<room:room_id>/totals/": takes(),
    f"{HOUSE}site/": page(),
    f"{HOUSE}site/<slug:part>/": takes(part="readiness"),
    f"{HOUSE}done/": page(),
    f"{HOUSE}done/<slug:part>/": takes(part="jobs"),
    f"{HOUSE}copy/": form(look=PLAN),
    f"{HOUSE}costs/": for_planners(),
    "costs/": for_planners(),
    "quotes/": form(look=PLAN),
    "quotes/<quote:public_id>/": for_planners(),
    "quotes/<quote:public_id>/edit/": form(look=PLAN),
    "quotes/<quote:public_id>/remove/": form(look=PLAN),
    "quotes/<quote:public_id>/work-out/": takes(),
    "quotes/<quote:public_id>/stop/": takes(),
    "quotes/<quote:public_id>/won/": takes(),
    f"{HOUSE}history/": form(),
    f"{HOUSE}notes/<note:note_id>/strike/": takes(),
    f"{HOUSE}sheet/": page(),
    f"{HOUSE}air/": page(),
    "v/<visit:public_id>/": May(look=OPEN, shown=frozenset({302, 403})),
    "visits/<planned_task:public_id>/move/": form(),
    "pins/": page(),
    "pins/<pin:public_id>/end/": takes(),
    "messages/": for_planners(),
    "messages/crews/<crew:public_id>/": takes(
        sent={"version": 1, "language": "es", "units": "metric"}
    ),
    "photos/<obstacle:public_id>/": May(shown=frozenset({404})),  # it has none
    "said/<slug:kind>/<said:public_id>/settle/": takes(kind="extra_work"),
    "company/": page(),
    "company/crews/": form(),
    "company/holidays/": form(),
    "company/holidays/fetch/": takes(),
    "company/compounds/": page(),
    "company/compounds/new/": form(),
    "company/compounds/<compound:public_id>/": form(),
    "company/systems/new/": form(),
    "company/systems/<system:public_id>/": form(),
    "company/supplies/new/": form(),
    "company/supplies/<supply:public_id>/": form(),
    "company/stock/": form(),
    "company/placing/": form(),
    "material/": page(),
    "material/orders/": page(),
    "company/history/": page(),
    "company/people/": form(OWN, look=OWN),
    "company/tokens/": form(OWN, look=OWN),
    "company/tokens/<token:public_id>/revoke/": form(OWN, look=OWN),
    "company/people/trail/": May(look=OWN),
    "company/people/<user:public_id>/role/": takes(OWN),
    "company/people/<user:public_id>/remove/": form(OWN, look=OWN),
    "company/people/invitations/<invitation:public_id>/withdraw/": takes(OWN),
    "invited/<str:token>/": May(OPEN, OPEN, {"token": "none"}, shown=ENDED, written=ENDED),
    "company/settings/": form(OWN),
    "company/prices/": form(look=PLAN),
    f"{HOUSE}extra-work/": form(look=PLAN),
    f"{HOUSE}extra-work/sheet/": for_planners(),
    "company/pay/": form(look=PLAN),
    "company/pay/<crew:public_id>/": for_planners(),
    "company/pay/<crew:public_id>/file.csv": for_planners(),
    "looking-back/": page(),
    "looking-back/forecasts/": page(),
    "looking-back/files/<slug:table>.csv": page(table="days"),
    "company/rates/": form(),
    "company/rates/<slug:stage>/<slug:answer>/": takes(stage="tape", answer="take"),
    "company/sending/": for_planners(),
    "company/sending/new/<slug:kind>/": form(OWN, look=OWN, kind="webhook"),
    "company/sending/<endpoint:public_id>/": for_planners(),
    "company/sending/<endpoint:public_id>/<slug:change>/": takes(OWN, change="off"),
    "company/feeds/": for_planners(),
    "company/feeds/new/": May(look=PLAN, write=PLAN, shown=frozenset({302})),  # of what?
    "company/feeds/<feed:public_id>/": form(look=PLAN),
    "company/feeds/<feed:public_id>/<slug:change>/": form(OWN, look=OWN, change="renew"),
    "company/crews/<crew:public_id>/page/make/": takes(),
    "company/crew-pages/<crew_page:public_id>/<slug:change>/": form(OWN, look=OWN, change="renew"),
    "company/crews/<crew:public_id>/": page(),
    "company/crews/<crew:public_id>/<slug:part>/": takes(part="facts"),
    "air/": page(),
    "air/now/": page(),
    "runs/": page(),
    "runs/changed/": page(),
    "runs/new/": takes(),
    "runs/<run:public_id>/": page(),
    "runs/<run:public_id>/stop/": takes(),
    "scenarios/": form(),
    "scenarios/plan/": takes(),
    "scenarios/<scenario:public_id>/": form(),
    "scenarios/<scenario:public_id>/add/<slug:kind>/": form(kind="saturdays"),
    "scenarios/<scenario:public_id>/leave-out/<int:number>/": takes(number=0),
    "scenarios/<scenario:public_id>/plan/": takes(),
    "scenarios/<scenario:public_id>/stop/": takes(),
    "scenarios/<scenario:public_id>/copy/": takes(),
    "scenarios/<scenario:public_id>/discard/": form(look=PLAN),
    "scenarios/<scenario:public_id>/work-on/": takes(),
    "plans/<plan:public_id>/accept/": takes(),
    "plans/<plan:public_id>/publish/": takes(),
    "publishing/": page(),
    "publishing/sent/<outgoing:public_id>/": takes(),
    "publishing/<int:revision>/take-back/": takes(revision=1),
}

NOT_THIS_VISIT = frozenset({404})
SECRET_PAGES: Mapping[str, May] = {
    "crew/<str:secret>/": May(SECRET, SECRET, written=NOT_THIS_VISIT),
    "crew/<str:secret>/<day:day>/": May(SECRET, SECRET, written=NOT_THIS_VISIT),
    "crew/<str:secret>/worker.js": May(SECRET, SECRET),
    "crew/<str:secret>/air/": May(SECRET, SECRET),
    "feeds/<str:secret>/<str:_slug>.ics": May(SECRET, parts={"_slug": "crew"}),
}

NOT_KNOWN = frozenset({200, 409})
"""Nothing is known of this company's air."""
API = "api/v1/"
NOTHING = frozenset({404})


def rows(kind: str, collection: str = "", *, writes: bool = True) -> dict[str, May]:
    """Rows of the API: their list and one of them."""
    name = f"{API}{collection or kind.replace('_', '-') + 's'}/"
    return {name: form() if writes else page(), f"{name}<{kind}:public_id>/": page()}


RESOURCES: Mapping[str, May] = {
    f"{API}houses/<house:public_id>/water/": May(shown=NOT_KNOWN),
    f"{API}houses/<house:public_id>/costs/": for_planners(),
    f"{API}plans/<plan:public_id>/costs/": for_planners(),
    f"{API}houses/<house:public_id>/air/": May(shown=NOT_KNOWN),
    f"{API}houses/<house:public_id>/readings/": takes(),
    f"{API}houses/<house:public_id>/history/": page(),
    f"{API}houses/<house:public_id>/copies/": takes(),
    **rows("air_source", writes=False),
    **rows("area"),
    **rows("closure"),
    **rows("coat_done", "coats-done"),
    **rows("compound"),
    **rows("dryer"),
    f"{API}deeds/": May(look=OWN),
    f"{API}deeds/<deed:public_id>/": May(look=OWN),
    **rows("edit", writes=False),
    **rows("note"),
    **rows("odd_job"),
    **rows("readiness_line"),
    **rows("crew"),
    **rows("day_off", "absences"),
    **rows("extra_hours", "extra-hours"),
    **rows("holiday"),
    **rows("house"),
    **rows("labour_rate"),
    **rows("loan"),
    **rows("member"),
    **rows("room"),
    **rows("placing_rate"),
    **rows("stock_line", "stock"),
    **rows("supply", "supplies"),
    f"{API}material/": page(),
    **rows("plan", writes=False),
    f"{API}plans/current/": page(),
    f"{API}plans/<plan:public_id>/accept/": takes(),
    f"{API}plans/<plan:public_id>/tasks/": page(),
    f"{API}plans/<plan:public_id>/visits/": page(),
    f"{API}prices/": form(look=PLAN),
    f"{API}prices/<price:public_id>/": for_planners(),
    **rows("obstacle", writes=False),
    f"{API}obstacles/<obstacle:public_id>/photo/": May(shown=frozenset({404})),  # it has none
    f"{API}obstacles/<obstacle:public_id>/settle/": takes(),
    **rows("extra_work", "extra-work", writes=False),
    f"{API}extra-work/<extra_work:public_id>/settle/": takes(),
    **rows("publication"),
    f"{API}publications/reached/": May(look=PLAN, shown=frozenset({200, 409})),
    f"{API}publications/pending/": May(shown=frozenset({200, 409})),
    f"{API}publications/<publication:public_id>/changes/": page(),
    f"{API}publications/<publication:public_id>/take-back/": takes(),
    f"{API}visits/": May(VISITS),
    f"{API}visits/<visit:public_id>/": May(VISITS),
    f"{API}feeds/": May(look=PLAN, write=PLAN),
    f"{API}feeds/<feed:public_id>/": for_planners(),
    f"{API}feeds/<feed:public_id>/renew/": May(None, OWN, sent={"generation": 1}, also=PLAN),
    f"{API}feeds/<feed:public_id>/revoke/": May(None, OWN, sent={"generation": 1}, also=PLAN),
    f"{API}crew-pages/": form(look=PLAN),
    f"{API}crew-pages/<crew_page:public_id>/": for_planners(),
    **{
        f"{API}crew-pages/<crew_page:public_id>/{change}/": May(
            None, OWN, sent={"generation": 1}, also=PLAN
        )
        for change in ("renew", "revoke")
    },
    f"{API}people/": May(look=OWN),
    f"{API}people/<user:public_id>/": May(look=OWN),
    f"{API}invitations/": form(look=OWN),
    f"{API}invitations/<invitation:public_id>/": May(look=OWN),
    f"{API}invitations/<invitation:public_id>/send/": May(None, PLAN, also=OWN),
    f"{API}invitations/<invitation:public_id>/withdraw/": May(None, PLAN, also=OWN),
    f"{API}tokens/": form(OWN, look=OWN),
    f"{API}tokens/<token:public_id>/": May(look=OWN),
    f"{API}tokens/<token:public_id>/revoke/": takes(OWN),
    f"{API}webhooks/": May(look=PLAN, write=OWN),
    f"{API}webhooks/<endpoint:public_id>/": for_planners(),
    f"{API}webhooks/<endpoint:public_id>/renew-secret/": May(None, OWN, also=PLAN),
    f"{API}calendar-pushes/": May(look=PLAN, write=OWN),
    f"{API}calendar-pushes/<calendar_push:public_id>/": for_planners(),
    f"{API}webhooks/<endpoint:public_id>/test/": May(None, OWN, also=PLAN),
    f"{API}deliveries/": for_planners(),
    f"{API}deliveries/<outgoing:public_id>/": May(look=PLAN, shown=NOTHING),  # it is a mail
    f"{API}deliveries/<outgoing:public_id>/again/": May(None, PLAN, written=NOTHING),
    f"{API}planned-visits/<planned_task:public_id>/": page(),
    f"{API}planned-visits/<planned_task:public_id>/move/": May(shown=frozenset({422})),  # where?
    **rows("pin"),
    f"{API}reports/": form(REPORT, look=VISITS),
    f"{API}reports/<report:public_id>/": May(VISITS),
    **rows("run"),
    f"{API}runs/<run:public_id>/stop/": takes(),
    f"{API}quotes/": form(look=PLAN),
    f"{API}quotes/<quote:public_id>/": for_planners(),
    f"{API}quotes/<quote:public_id>/work-out/": takes(),
    f"{API}quotes/<quote:public_id>/stop/": takes(),
    f"{API}quotes/<quote:public_id>/win/": takes(),
    **rows("scenario"),
    **{
        f"{API}scenarios/<scenario:public_id>/{step}/": takes()
        for step in ("plan", "stop", "copy", "work-on")
    },
    f"{API}air-sources/<air_source:public_id>/hours/": takes(),
    **rows("system", "jointing-systems"),
    f"{API}holidays/fetch/": takes(),
    **{f"{API}imports/{kind}/": takes() for kind in FileKind},
    f"{API}builder-lines/": form(look=PLAN),
    f"{API}builder-lines/<builder_line:public_id>/": for_planners(),
    f"{API}pay-terms/": form(look=PLAN),
    f"{API}pay-terms/<pay_term:public_id>/": for_planners(),
    f"{API}crews/<crew:public_id>/pay/": for_planners(),
    f"{API}looking-back/": page(),
    f"{API}forecast-record/": page(),
    f"{API}rate-offers/": form(),
    f"{API}labour-rates/usual/": page(),
    f"{API}settings/": May(write=OWN, written=frozenset({405})),
    f"{API}odds/": May(shown=NOT_KNOWN),
    f"{API}schema/": May(VISITS),
    f"{API}<anything:_address>": May(
        write=PLAN, parts={"_address": "x/"}, shown=NOTHING, written=NOTHING
    ),
}
ABOUT_THE_API: Mapping[str, May] = {
    f"{API}docs/": page(),
    f"{API}problems/<slug:code>/": May(look=OPEN, parts={"code": "stale"}),
}
PROBES: Mapping[str, May] = {
    "healthz": May(OPEN),
    "readyz": May(OPEN),
    "metrics": May(OPEN, shown=NOTHING),  # none of them has its token, and none is set
}
EVERY: Mapping[str, May] = {**PAGES, **SECRET_PAGES, **RESOURCES, **ABOUT_THE_API, **PROBES}
