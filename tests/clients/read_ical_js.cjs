// Reads a calendar from standard input by ical.js, which Thunderbird and Nextcloud read with too.
// Writes its events as JSON. It knows no property for a calendar's name. Argument: the folder whose node_modules has ical.js.
const { readFileSync } = require("node:fs");
const { createRequire } = require("node:module");
const ICAL = createRequire(`${process.argv[2]}/`)("ical.js");

const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
for (const zone of calendar.getAllSubcomponents("vtimezone")) ICAL.TimezoneService.register(zone);

function moment(time) {
  if (time.isDate) return time.toString();
  if (time.zone === ICAL.Timezone.localTimezone) throw new Error(`floating: ${time}`);
  return time.toJSDate().toISOString();
}

const events = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  return {
    uid: event.uid,
    starts: moment(event.startDate),
    ends: moment(event.endDate),
    title: event.summary,
    status: component.getFirstPropertyValue("status"),
  };
});
process.stdout.write(JSON.stringify({ events }));
