// Reads a calendar from standard input by node-ical. Writes its events as JSON.
// Argument: the folder whose node_modules has node-ical. TZ has to be UTC: its days are midnights.
const { readFileSync } = require("node:fs");
const { createRequire } = require("node:module");
const ical = createRequire(`${process.argv[2]}/`)("node-ical");

const items = Object.values(ical.sync.parseICS(readFileSync(0, "utf8")));

function moment(date, event) {
  const iso = date.toISOString();
  return event.datetype === "date" ? iso.slice(0, 10) : iso;
}

const events = items
  .filter((item) => item.type === "VEVENT")
  .map((event) => ({
    uid: event.uid,
    starts: moment(event.start, event),
    ends: moment(event.end, event),
    title: event.summary,
    status: event.status,
  }));
const calendar = items.find((item) => item.type === "VCALENDAR");
process.stdout.write(JSON.stringify({ name: calendar["WR-CALNAME"], events }));
