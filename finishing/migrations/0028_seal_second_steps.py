"""Phones' keys and written codes as they were stored before: sealed and hashed, then gone."""

from hashlib import sha256
from typing import Any

from django.db import migrations

from finishing.services.sealed import seal


def seal_keys(apps: Any, _editor: Any) -> None:
    """Keep each person's key, the one that is on before one that was only shown."""
    devices = apps.get_model("otp_totp", "TOTPDevice").objects
    for device in devices.order_by("-confirmed", "pk"):
        apps.get_model("finishing", "PhoneKey").objects.get_or_create(
            user_id=device.user_id,
            defaults={
                "sealed_key": seal(device.key),
                "is_on": device.confirmed,
                "last_step": device.last_t,
            },
        )
    devices.all().delete()


def hash_codes(apps: Any, _editor: Any) -> None:
    tokens = apps.get_model("otp_static", "StaticToken").objects
    for token in tokens.select_related("device"):
        apps.get_model("finishing", "WrittenCode").objects.get_or_create(
            user_id=token.device.user_id, sha256=sha256(token.token.encode()).hexdigest()
        )
    apps.get_model("otp_static", "StaticDevice").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [
        ("finishing", "0027_second_steps"),
        ("otp_totp", "0003_add_timestamps"),
        ("otp_static", "0003_add_timestamps"),
    ]
    operations = [
        migrations.RunPython(seal_keys, migrations.RunPython.noop),
        migrations.RunPython(hash_codes, migrations.RunPython.noop),
    ]
