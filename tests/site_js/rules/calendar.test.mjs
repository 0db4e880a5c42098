import assert from "node:assert/strict";
import { test } from "node:test";
import { folded, icsOfDays, icsText } from "../../../site/static/js/rules/calendar.mjs";

const GIVEN = {
  uid: "5a1c2b1e-6d1b-4a57-9d57-0d6f2f1c9c55",
  at: Date.UTC(1998, 0, 19, 7),
  stamp: Date.UTC(1998, 0, 18, 23),
  title: "Unmold",
  description: "Take the block out.",
};

/** RFC 5545 3.1: "Unfolding is accomplished by removing the CRLF and the linear white-space character that immediately follows." */
const unfolded = (text) => text.replaceAll(/\r\n[ \t]/g, "");
const linesOf = (given) => unfolded(icsText({ ...GIVEN, ...given })).split("\r\n");
const octets = (line) => Buffer.byteLength(line, "utf8");

test("an instant is written as in RFC 5545 3.3.5, form 2: 07:00 UTC on 19 January 1998", () => {
  assert.ok(linesOf().includes("DTSTART:19980119T070000Z"));
  // One of that section's examples: 13:30 in New York on 14 July 1997.
  assert.ok(linesOf({ at: Date.UTC(1997, 6, 14, 17, 30) }).includes("DTSTART:19970714T173000Z"));
});

test("a text of several lines is written as in RFC 5545 3.3.11", () => {
  const description = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared.";
  const written = String.raw`DESCRIPTION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared.`;
  assert.ok(linesOf({ description }).includes(written));
  assert.ok(linesOf({ description: description.replaceAll("\n", "\r\n") }).includes(written));
});

test("comma, semicolon and backslash are escaped, the colon is not (RFC 5545 3.3.11; comma as in its 3.8.1.7)", () => {
  assert.ok(linesOf({ title: "Conference Room - F123, Bldg. 002" }).includes(String.raw`SUMMARY:Conference Room - F123\, Bldg. 002`));
  assert.ok(linesOf({ title: "a;b\\c: d" }).includes(String.raw`SUMMARY:a\;b\\c: d`));
});

test("a long line is folded so that the unfolding of RFC 5545 3.1 brings it back", () => {
  // The line of that section's example, and longer ones.
  const short = "DESCRIPTION:This is a long description that exists on a long line.";
  assert.equal(folded(short), short);
  for (const long of [short.repeat(5), `SUMMARY:${"ü".repeat(200)}`, `SUMMARY:${"🧼 ".repeat(60)}`, "x".repeat(75), "x".repeat(76), "x".repeat(149), "x".repeat(150)]) {
    assert.equal(unfolded(folded(long)), long);
    for (const line of folded(long).split("\r\n")) {
      assert.ok(octets(line) <= 75, `${octets(line)} octets`);
      // A character cut in two would come back as U+FFFD.
      assert.equal(Buffer.from(line, "utf8").toString("utf8"), line);
    }
  }
  assert.equal(folded("x".repeat(75)).includes("\r\n"), false);
});

test("every line ends with CRLF and there is no other line break (RFC 5545 3.1)", () => {
  const text = icsText({ ...GIVEN, title: "A\rB\nC", description: "word ".repeat(80) });
  assert.ok(text.endsWith("\r\n"));
  assert.doesNotMatch(text.replaceAll("\r\n", ""), /[\r\n]/);
});

test("the calendar holds what RFC 5545 requires, once each, in its component", () => {
  const lines = linesOf().slice(0, -1);
  const name = (line) => line.slice(0, line.indexOf(":"));
  const within = (component) => lines.slice(lines.indexOf(`BEGIN:${component}`) + 1, lines.indexOf(`END:${component}`));
  const alarm = within("VALARM").map(name);
  const event = within("VEVENT").map(name);
  // 3.6: PRODID and VERSION; 3.6.1: DTSTAMP, UID and, without METHOD, DTSTART; 3.6.6: a display alarm's ACTION, DESCRIPTION, TRIGGER.
  assert.deepEqual(lines.slice(0, 2), ["BEGIN:VCALENDAR", "VERSION:2.0"]);
  assert.equal(lines.at(-1), "END:VCALENDAR");
  assert.equal(lines.filter((line) => name(line) === "PRODID").length, 1);
  for (const required of ["UID", "DTSTAMP", "DTSTART"]) assert.equal(event.filter((each) => each === required).length, 1, required);
  assert.deepEqual(alarm.sort(), ["ACTION", "DESCRIPTION", "TRIGGER"]);
  // 3.3.6: dur-time "PT0S": at the start itself.
  assert.ok(within("VALARM").includes("TRIGGER:PT0S"));
  assert.ok(lines.includes(`UID:${GIVEN.uid}`) && lines.includes("DTSTAMP:19980118T230000Z"));
});

test("a whole day is a date without a time (RFC 5545 3.3.4), and rings nine hours after it began (3.8.6.3)", () => {
  const days = [{ day: "2026-12-01", title: "Weigh; all ten" }, { day: "2027-01-04", title: "Ready" }];
  const lines = unfolded(icsOfDays({ stamp: GIVEN.stamp, days })).split("\r\n");
  assert.equal(lines.filter((line) => line === "BEGIN:VEVENT").length, 2);
  assert.ok(lines.includes("DTSTART;VALUE=DATE:20261201") && lines.includes("DTSTART;VALUE=DATE:20270104"));
  assert.ok(lines.includes(String.raw`SUMMARY:Weigh\; all ten`) && lines.includes("TRIGGER:PT9H"));
  assert.deepEqual([lines[0], lines.at(-2)], ["BEGIN:VCALENDAR", "END:VCALENDAR"]);
});
