import "../page_for_tests.mjs";
import assert from "node:assert/strict";
import { test } from "node:test";
import { askPhones, deed, watchPhones, watchScales } from "../../../site/static/js/shop/ask.mjs";
import { onWord, say } from "../../../site/static/js/shop/channel.mjs";
import { Refused } from "../../../site/static/js/shop/refused.mjs";

/** The tab that has the connection. @param {(question: any) => any} answers */
const answering = (answers) => onWord(({ question }) => question && say({ answer: { id: question.id, reply: answers(question) } }));
const refusedWith = (key) => (error) => error instanceof Refused && error.key === key;

test("a question comes to the tab that has the connection, and its own answer comes back", async () => {
  const asked = [];
  const end = answering(({ subject, body }) => {
    asked.push([subject, body]);
    // Another tab's answer at the same time is none of this one's.
    say({ answer: { id: "another", reply: { phones: ["another"] } } });
    return subject === "phones" ? { phones: [] } : { ok: true, secret: "S" };
  });
  assert.deepEqual(await Promise.all([askPhones(), deed({ do: "pair" })]), [{ phones: [] }, { ok: true, secret: "S" }]);
  assert.deepEqual(asked, [["phones", null], ["deed", { do: "pair" }]]);
  end();
});

test("what the server refuses is refused by its own word, and what it does not hear is not taken for done", async () => {
  const end = answering(({ body }) => (body?.do === "pair" ? { refused: "not_owner" } : null));
  await assert.rejects(deed({ do: "pair" }), refusedWith("not_owner"));
  await assert.rejects(deed({ do: "revoke", device: "abcdefgh23" }), refusedWith("unreachable"));
  await assert.rejects(askPhones(), refusedWith("unreachable"));
  end();
});

test("where no tab has the connection, that is said in the end", async (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const asked = assert.rejects(askPhones(), refusedWith("unreachable"));
  t.mock.timers.tick(10_000);
  await asked;
});

test("scales are asked for as long as somebody looks at one, and no longer", (t) => {
  t.mock.timers.enable({ apis: ["setInterval"] });
  const [wanted, readings, lists] = [[], [], []];
  const ends = [onWord(({ scales }) => scales && wanted.push(1)), watchScales((reading) => readings.push(reading.count)), watchPhones(() => lists.push(1))];
  say({ reading: { count: "12.34" } });
  say({ phones: true });
  t.mock.timers.tick(11_000);
  assert.deepEqual([wanted.length, readings, lists.length], [3, ["12.34"], 1]);
  for (const end of ends.slice(1)) end();
  say({ reading: { count: "12.36" } });
  say({ phones: true });
  t.mock.timers.tick(60_000);
  assert.deepEqual([wanted.length, readings.length, lists.length], [3, 1, 1]);
  ends[0]();
});
