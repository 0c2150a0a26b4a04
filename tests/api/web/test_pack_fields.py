"""Prices of packs as the office types them."""

from api.web.pack_fields import money_of
from api.web.supply_form import SupplyForm
from finishing.models import Company


def test_a_form_reads_prices_in_its_own_companys_money_whoevers_is_made_meanwhile() -> None:
    euros = money_of(Company(currency="EUR", currency_digits=2), SupplyForm())
    yen = money_of(Company(currency="JPY", currency_digits=0), SupplyForm())
    typed = "7.00; 12"
    assert euros.fields["pack_prices"].clean(typed) == [700, 1200]
    assert yen.fields["pack_prices"].clean(typed) == [7, 12]
