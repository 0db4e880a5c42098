// Digits as typed on the keypad, and as they are compared: whole numbers of the display's last digit.
import assert from "node:assert/strict";
import { test } from "node:test";

import { counts } from "../../../site/static/js/rules/readings.mjs";
import { digits, pointed, press } from "../../../site/static/js/scale/keypad.mjs";

const typed = (keys, decimals) => [...keys].reduce((text, key) => press(text, key === "<" ? "back" : key, decimals), "");

test("what can be typed is what a display can show", () => {
  assert.equal(typed("16.34", 2), "16.34");
  assert.equal(typed("16.345", 2), "16.34");
  assert.equal(typed("1.6.3", 2), "1.63");
  assert.equal(typed(".5", 2), "0.5");
  assert.equal(typed("007", 0), "7");
  assert.equal(typed("12.5", 0), "125");
  assert.equal(typed("123456789", 1), "1234567");
  assert.equal(typed("16.3<<<", 2), "1");
  assert.equal(typed("<", 2), "");
});

test("a reading is a whole number, exact where binary fractions are not", () => {
  // 1.005 * 100 is 100.49999999999999 in IEEE 754 double arithmetic; the count must be 1005 thousandths.
  assert.equal(counts("1.005", 3), 1005);
  assert.equal(counts("16.3", 2), 1630);
  assert.equal(counts("16.", 2), 1600);
  assert.equal(counts("0.07", 2), 7);
  for (const none of ["", ".", "1.234", "-1", "1e3", "12345678", " 5"]) assert.equal(counts(none, 2), null, none);
});

test("counts and digits undo each other for every display", () => {
  for (const decimals of [0, 1, 2, 3]) {
    for (const count of [0, 1, 9, 10, 99, 100, 1634, 9_999_999]) {
      assert.equal(counts(digits(count, decimals), decimals), count, `${count} with ${decimals}`);
    }
  }
  assert.equal(digits(7, 2), "0.07");
  assert.equal(digits(1574, 2), "15.74");
});

test("the display's point stands where it stands there, typed or not", () => {
  assert.equal(pointed(typed("1346", 2), 2), "13.46");
  assert.equal(pointed(typed("13.46", 2), 2), "13.46");
  assert.equal(pointed(typed("7", 2), 2), "0.07");
  assert.equal(pointed(typed("007", 2), 2), "0.07");
  assert.equal(pointed(typed("1346<", 2), 2), "1.34");
  assert.equal(pointed(typed("723", 0), 0), "723");
  assert.equal(pointed("", 2), "");
});
