// Runs inside Thunderbird, in its chrome context. Argument: the address of a calendar.
// Subscribes unless it has, fetches, and resolves to what its calendar holds.
const { cal } = ChromeUtils.importESModule("resource:///modules/calendar/calUtils.sys.mjs");

function subscribed(address) {
  const found = cal.manager.getCalendars().find((one) => one.uri.spec === address);
  if (found) return found;
  const calendar = cal.manager.createCalendar("ics", Services.io.newURI(address));
  calendar.name = "Bench";
  calendar.setProperty("cache.enabled", true); // as its dialog does for calendars on the web
  cal.manager.registerCalendar(calendar);
  return cal.manager.getCalendars().find((one) => one.uri.spec === address);
}

function moment(time) {
  if (time.isDate) return time.icalString.replace(/(\d{4})(\d\d)(\d\d)/, "$1-$2-$3");
  return new Date(time.nativeTime / 1000).toISOString();
}

async function read(address) {
  const calendar = subscribed(address);
  calendar.refresh();
  await new Promise((resolve) => setTimeout(resolve, 2000)); // it does not say when it is over
  const every = Ci.calICalendar.ITEM_FILTER_ALL_ITEMS;
  const items = await calendar.getItemsAsArray(every, 0, null, null);
  return items.map((item) => ({
    uid: item.id,
    starts: moment(item.startDate),
    ends: moment(item.endDate),
    title: item.title,
    status: item.status || "",
  }));
}

return read(arguments[0]);
