"""Of what is published: whose calendars do not tell yet which day of a handover holds."""

from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from finishing.models import Company
from scheduling.models import FeedLink, Publication, ToldHandover

TOLD_TO = (FeedLink.Kind.HOUSE, FeedLink.Kind.COMPANY)
"""The calendars that tell of handovers."""


def odds_untold() -> QuerySet[Company, tuple[int, UUID, int]]:
    """Return the companies with calendars of handovers to come that tell no odds of the newest
    revision: key, id, and that revision."""
    revisions = Publication.objects.order_by("-revision").values("revision")
    links = FeedLink.objects.filter(kind__in=TOLD_TO, revoked_at=None)
    live = ToldHandover.objects.filter(company=OuterRef("pk"), cancelled_at=None)
    newest_of_row = Subquery(revisions.filter(company=OuterRef("company"))[:1])
    return (
        Company.objects.annotate(newest=Subquery(revisions.filter(company=OuterRef("pk"))[:1]))
        .filter(Exists(links.filter(company=OuterRef("pk"))), Exists(live), newest__isnull=False)
        .exclude(Exists(live.filter(odds_revision=newest_of_row)))
        .values_list("pk", "public_id", "newest")
    )
