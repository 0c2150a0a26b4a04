"""manage.py import_site site.csv"""

from typing import Any

from finishing.management.base import ImportCommand, file_content
from finishing.models import Company
from finishing.services.file_imports import FileKind
from finishing.services.site import put_sites
from finishing.services.site_sheet import read_sites


class Command(ImportCommand):
    kind = FileKind.SITE
    help = "Import what houses offer, which areas are closed to the crews, and odd jobs."

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        sites = read_sites(name=path.name, content=file_content(path), company=company)
        put_sites(company=company, sites=sites)
        self.houses = [site.house.name for site in sites]
        for site in sites:
            self.stdout.write(
                f"{site.house.name}: {len(site.ready)} readiness lines, "
                f"{len(site.closures)} closures, {len(site.odd_jobs)} odd jobs"
            )
