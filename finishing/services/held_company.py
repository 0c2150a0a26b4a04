"""One at a time in a company: what nobody else of it is to do meanwhile."""

from finishing.models import Company


def hold_company(company_id: int) -> Company:
    """Return a company (pk), held for the transaction: who does the same waits, before anything
    else is held.

    Rows of it may be stored meanwhile: who publishes holds its plans, then stores such a row, and
    would else wait for who holds the company and waits for its plans.
    """
    return Company.objects.select_for_update(no_key=True).get(pk=company_id)
