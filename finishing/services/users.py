"""Sign-ins."""

from django.core.exceptions import ValidationError

from finishing.models import Company, Role, User


def give_sign_in(*, company: Company, email: str, password: str) -> User:
    """Make an owner of a company, or set the password of somebody it has.

    Raises ValidationError for an address that is none or that belongs to another company.
    """
    address = User.objects.normalize_email(email)
    user = User.objects.filter(email=address).first() or User(
        email=address, company=company, role=Role.OWNER
    )
    if user.company_id != company.pk:
        raise ValidationError(f"{address} belongs to another company")
    user.set_password(password)
    user.full_clean()
    user.save()
    return user
