"""Publishing in words: what a publication did to a visit, why the last one stays."""

from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from scheduling.models import Publication
from scheduling.wording import listed, readiness_name

_REFUSALS: dict[str, Promise] = {
    "not_the_last": _("something else has been published since"),
    "taken_back": _("revision %(revision)s takes one back itself: publish a plan instead"),
    "begun": _("crews have begun work that differs between the two: plan again instead"),
}


def take_back_refusal(code: str, values: Mapping[str, Any]) -> str:
    """Say why the last publication cannot be taken back."""
    return str(_REFUSALS[code]) % values


def revision_sentence(publication: Publication) -> str:
    """Say what a revision is, beside its number and when it was published."""
    if publication.takes_back is None:
        return gettext("a plan")
    values = {"revision": publication.takes_back.revision}
    return gettext("takes revision %(revision)s back") % values


def held_back_sentence(items: tuple[str, ...]) -> str:
    """Say why work is not published yet; items: what its house lacks."""
    missing = listed([readiness_name(item) for item in items])
    if not missing:
        return gettext("comes after work that is held back")
    return gettext("not ready: %(missing)s") % {"missing": missing}
