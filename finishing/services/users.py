"""Sign-ins."""

from django.core.exceptions import ValidationError

from finishing.models import Company, User


def give_sign_in(*, company: Company, email: str, password: str) -> User:
    """Make a user of a company, or set the password of one it has.

    Raises ValidationError for an address that is none or that belongs to another company.
    """
    address = User.objects.normalize_email(email)
    user = User.objects.filter(email=address).first() or User(email=address, company=company)
    if user.company_id != company.pk:
        raise ValidationError(f"{address} belongs to another company")
    user.set_password(password)
    user.full_clean()
    user.save()
    return user
