"""Evolution's data server, asked by its own library; for Debian's Python, which has the bindings.

Started by ``evolution.py`` in a session bus of its own, with the address of a calendar. For each
line of standard input it fetches the calendar again and writes what it holds as a line of JSON.
"""

import json
import sys
import time
from datetime import UTC, datetime
from typing import Any

import gi

gi.require_version("ECal", "2.0")
gi.require_version("EDataServer", "1.2")
from gi.repository import ECal, EDataServer, GLib, ICalGLib  # noqa: E402

TO_CONNECT_S, TO_FETCH_S = 30, 2


def subscribed(address: str) -> Any:
    """Subscribe as the dialog for a calendar on the web does, and return the calendar."""
    registry = EDataServer.SourceRegistry.new_sync(None)
    source = EDataServer.Source.new_with_uid("bench", None)
    source.set_parent("webcal-stub")
    source.set_display_name("Bench")
    source.get_extension(EDataServer.SOURCE_EXTENSION_CALENDAR).set_backend_name("webcal")
    source.get_extension(EDataServer.SOURCE_EXTENSION_SECURITY).set_method("none")
    web = source.get_extension(EDataServer.SOURCE_EXTENSION_WEBDAV_BACKEND)
    web.set_uri(GLib.Uri.parse(address, GLib.UriFlags.ENCODED))
    registry.commit_source_sync(source, None)
    kind = ECal.ClientSourceType.EVENTS
    return ECal.Client.connect_sync(source, kind, TO_CONNECT_S, None)


def moment(client: Any, at: Any) -> str:
    value = at.get_value()
    if value.is_date():
        return f"{value.get_year():04}-{value.get_month():02}-{value.get_day():02}"
    if value.is_utc():
        zone = ICalGLib.Timezone.get_utc_timezone()
    else:
        _, zone = client.get_timezone_sync(at.get_tzid(), None)
    return datetime.fromtimestamp(value.as_timet_with_zone(zone), UTC).isoformat()


def shown(client: Any, component: Any) -> dict[str, str]:
    off = component.get_status() == ICalGLib.PropertyStatus.CANCELLED
    return {
        "uid": component.get_uid(),
        "starts": moment(client, component.get_dtstart()),
        "ends": moment(client, component.get_dtend()),
        "title": component.get_summary().get_value(),
        "status": "CANCELLED" if off else "",
    }


def main(address: str) -> None:
    client = subscribed(address)
    for _ in sys.stdin:
        client.refresh_sync(None)
        time.sleep(TO_FETCH_S)  # the answer does not say when the fetch is over
        _, components = client.get_object_list_as_comps_sync("#t", None)
        json.dump([shown(client, component) for component in components], sys.stdout)
        print(flush=True)  # noqa: T201 - its answer


if __name__ == "__main__":
    main(sys.argv[1])
