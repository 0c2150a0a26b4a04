"""Storing a revision: its row, its visits, what the company's crews see, feeds to be made anew."""

from datetime import datetime

from django.db import transaction
from django.db.models import F

from finishing.models import Company
from scheduling.models import CompanyPlans, FeedLink, Plan, Publication, Visit
from scheduling.models.link import OUTDATED
from scheduling.queries.plans import latest_publication
from scheduling.services.announced import announce
from scheduling.services.house_revisions import keep_house_revisions, stored_starts
from scheduling.services.told_handovers import tell_handovers
from scheduling.services.told_people import tell_people
from scheduling.services.visit_changes import VisitChanges


@transaction.atomic
def store_revision(
    *,
    company: Company,
    plan: Plan | None,
    changes: VisitChanges,
    now: datetime,
    takes_back: Publication | None = None,
) -> Publication:
    """Store the company's next revision, whole. plan: None where crews are told of no work."""
    latest = latest_publication(company)
    publication = Publication(
        company=company,
        revision=latest.revision + 1 if latest else 1,
        plan=plan,
        published_at=now,
        takes_back=takes_back,
    )
    publication.full_clean()
    publication.save()
    announce(publication, changes)
    before = stored_starts(changes.moved)
    Visit.objects.bulk_create(changes.new)
    changed = [*changes.moved, *changes.revived, *changes.cancelled]
    Visit.objects.bulk_update(changed, VisitChanges.FIELDS)
    keep_house_revisions(publication, changes, before)
    CompanyPlans.objects.filter(company=company).update(published=plan, version=F("version") + 1)
    tell_people(company=company, now=now)
    tell_handovers(company=company, plan=plan, now=now)
    FeedLink.objects.filter(company=company).update(**OUTDATED)
    return publication
