import assert from "node:assert/strict";
import { test } from "node:test";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { clock } from "../../../site/static/js/store/clock.mjs";
import { remaining } from "../../../site/static/js/rules/timers.mjs";

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const started = (at, seconds) => ({ id: "e", at, local: at, kind: "timed", subject: "block:QM-1/1", action: "started", seconds });
const AT = "2026-11-25T08:00:00.000Z";

test("what is left is the end less now, and goes below zero after it", () => {
  const timer = started(AT, 600);
  for (const [now, left] of [[0, 600], [1, 540], [10, 0], [15, -300], [24 * 60, -85_800]]) {
    assert.deepEqual(remaining(timer, 0, Date.parse(AT) + now * MINUTE), { seconds: left, clockBack: false, longOver: false });
  }
});

test("the length stored with the start counts, the step's only where there is none", () => {
  assert.equal(remaining(started(AT, 60), 600, Date.parse(AT)).seconds, 60);
  assert.equal(remaining(started(AT, undefined), 600, Date.parse(AT)).seconds, 600);
});

test("hours of sleep without a tick change nothing", () => {
  const timer = started(AT, 24 * 3600);
  assert.equal(remaining(timer, 0, Date.parse(AT) + 23 * HOUR).seconds, 3600);
});

test("a clock set back an hour is said; one second of ordering is not", () => {
  const end = "2026-11-25T08:30:00.000Z";
  const newest = started(end);
  const timer = started(AT, 7200);
  assert.equal(remaining(timer, 0, Date.parse(end) - HOUR, newest).clockBack, true);
  assert.equal(remaining(timer, 0, Date.parse(end) - 500, newest).clockBack, false);
  assert.equal(remaining(timer, 0, Date.parse(AT) - HOUR).clockBack, true);
  assert.equal(remaining(timer, 0, Date.parse(end) + 1, newest).clockBack, false);
});

// IANA time zone database: Europe/Berlin goes from +01:00 to +02:00 on 28 March 2027 at 01:00 UTC and back on 25 October
// 2026 at 01:00 UTC; America/New_York from -05:00 to -04:00 on 14 March 2027 at 07:00 UTC. Asia/Kathmandu is +05:45.
for (const [name, zone, start, offsets] of [
  ["into summer time", "Europe/Berlin", "2027-03-28T00:30:00.000Z", ["+01:00", "+02:00"]],
  ["out of summer time", "Europe/Berlin", "2026-10-25T00:30:00.000Z", ["+02:00", "+01:00"]],
  ["into summer time elsewhere", "America/New_York", "2027-03-14T06:30:00.000Z", ["-05:00", "-04:00"]],
]) {
  test(`an hour is an hour across the change ${name}`, (context) => {
    const zoneBefore = process.env.TZ;
    process.env.TZ = zone;
    try {
      const now = context.mock.method(clock, "now", () => Date.parse(start));
      const begun = newEvent("timed", "block:QM-1/1", { step: "mix", action: "started", seconds: 3600 });
      now.mock.mockImplementation(() => Date.parse(start) + 45 * MINUTE);
      const later = newEvent("timed", "block:QM-1/1", {});
      assert.deepEqual([begun, later].map(({ local }) => local.slice(-6)), offsets);
      assert.deepEqual(remaining(begun, 0, clock.now(), later), { seconds: 900, clockBack: false, longOver: false });
    } finally {
      restoreZone(zoneBefore);
    }
  });
}

test("a phone carried to another zone counts on", () => {
  const zoneBefore = process.env.TZ;
  try {
    process.env.TZ = "Asia/Kathmandu";
    const begun = newEvent("timed", "block:QM-1/1", { step: "mix", action: "started", seconds: 3600 });
    process.env.TZ = "America/New_York";
    const { seconds, clockBack } = remaining(begun, 0, Date.parse(begun.at) + 10 * MINUTE, begun);
    assert.deepEqual([seconds, clockBack], [3000, false]);
  } finally {
    restoreZone(zoneBefore);
  }
});

/** @param {string | undefined} zone */
function restoreZone(zone) {
  if (zone === undefined) delete process.env.TZ;
  else process.env.TZ = zone;
}

const YEAR = 365 * 24 * HOUR;

/** An event as `append` stores it once the clock is right again: behind the one of the wrong year. @param {number} said */
const pushed = (said, behind) => ({ ...started(new Date(said).toISOString(), 600), at: new Date(Date.parse(behind) + 1).toISOString() });

test("a time begun after the clock was set back from a wrong year runs by what the clock then says", () => {
  const wrong = new Date(Date.parse(AT) + YEAR).toISOString();
  const timer = pushed(Date.parse(AT), wrong);
  assert.deepEqual(remaining(timer, 0, Date.parse(AT) + 4 * MINUTE, timer), { seconds: 360, clockBack: false, longOver: false });
});

test("a time begun in a wrong year, with the clock right again, never shows more than its length, and says so", () => {
  const timer = started(new Date(Date.parse(AT) + YEAR).toISOString(), 600);
  assert.deepEqual(remaining(timer, 0, Date.parse(AT)), { seconds: 600, clockBack: true, longOver: false });
});

test("a clock set a year forward while a time runs is asked about", () => {
  const { longOver, seconds } = remaining(started(AT, 600), 0, Date.parse(AT) + YEAR);
  assert.equal(longOver, true);
  assert.ok(seconds < 0);
  assert.equal(remaining(started(AT, 24 * 3600), 0, Date.parse(AT) + 48 * HOUR).longOver, false);
});
