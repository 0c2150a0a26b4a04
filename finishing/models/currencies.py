"""Currencies by their ISO 4217 codes, as its maintenance agency lists them (1 January 2026).

Written out, since the package that has the agency's own file, which tests hold this against, takes
2 MB of every process.
"""

from collections.abc import Mapping

from django.core.exceptions import ValidationError

_CODES = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: """
        AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD
        CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP
        GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK
        LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO
        NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS
        SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST
        XAD XCD XCG YER ZAR ZMW ZWG
    """,
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
MINOR_DIGITS: Mapping[str, int] = {
    code: digits for digits, codes in _CODES.items() for code in codes.split()
}
"""By code how many digits the minor unit has: 2 for cents, 0 where there is none. Gold, units of
account and test codes have no exponent, and nobody is paid in them."""


def validate_currency(value: str) -> None:
    """Refuse a code that no money has."""
    if value not in MINOR_DIGITS:
        raise ValidationError(f"{value!r} is not an ISO 4217 code such as EUR")
