"""The environment of an installation that others reach, as .env.example advises."""

import random
import string


def a_key(seed: int) -> str:
    letters = random.Random(seed)
    return "".join(letters.choice(string.ascii_letters + string.digits) for _ in range(64))


PRODUCTION = {
    "COATWEAVE_HOSTS": "plan.example",
    "COATWEAVE_SITE_URL": "https://plan.example",
    "COATWEAVE_HSTS_SECONDS": "31536000",
    "COATWEAVE_HSTS_SUBDOMAINS": "1",
    "COATWEAVE_HSTS_PRELOAD": "1",
    "COATWEAVE_SECRET_KEY": a_key(1),
    "COATWEAVE_LINK_KEY": a_key(2),
    "COATWEAVE_SEAL_KEY": a_key(3),
    "COATWEAVE_DATABASE_URL": "postgresql://coatweave@127.0.0.1:1/coatweave",
    "COATWEAVE_DATABASE_PASSWORD": "hidden",
    "COATWEAVE_CELERY_BROKER_URL": "redis://127.0.0.1:1/0",
    "COATWEAVE_CACHE_URL": "redis://127.0.0.1:1/1",
    "COATWEAVE_MAIL_HOST": "mail.example",
}
