"""Parts of page addresses."""

from datetime import date

PAGE_YEARS = range(2000, 2100)


class DayConverter:
    """An ISO day of this century; anything else is no address of ours."""

    regex = r"20[0-9]{2}-[0-9]{2}-[0-9]{2}"

    def to_python(self, value: str) -> date:
        """Return the day. ValueError, which means 404, where the calendar has no such day."""
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()
