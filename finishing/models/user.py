"""People who sign in, by e-mail address."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from finishing.models.owned import Row


class Role(models.TextChoices):
    """What somebody is to their company; what each may do is queries.rights."""

    OWNER = "owner", _("owner")
    PLANNER = "planner", _("planner")
    CREW_LEAD = "crew_lead", _("crew lead")
    VIEWER = "viewer", _("viewer")


class UserManager(BaseUserManager["User"]):
    """Makes users with hashed passwords, and reads them with their company: pages ask for it."""

    def get_queryset(self) -> models.QuerySet["User"]:
        return super().get_queryset().select_related("company")

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        user = self.model(email=self.normalize_email(email), **fields)
        user.set_password(password)
        user.full_clean()
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "User":
        fields = {"role": Role.OWNER, **fields}
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)


class User(Row, AbstractBaseUser, PermissionsMixin):
    """Someone of a company. A superuser may have none. Crew: the one that a crew lead leads."""

    email = models.EmailField(unique=True)
    company = models.ForeignKey(
        "finishing.Company", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    role = models.CharField(max_length=9, choices=Role.choices, default=Role.VIEWER)
    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)

    objects: ClassVar[UserManager] = UserManager()
    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def __str__(self) -> str:
        return self.email

    def clean(self) -> None:
        """Refuse a crew for who leads none, and another company's crew."""
        super().clean()
        if self.crew is not None and self.role != Role.CREW_LEAD:
            raise ValidationError({"crew": _("is only for a crew lead")})
        if self.crew is not None and self.crew.company_id != self.company_id:
            raise ValidationError({"crew": _("is another company's")})
