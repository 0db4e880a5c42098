import assert from "node:assert/strict";
import { test } from "node:test";
import { crc32, inflateRawSync } from "node:zlib";
import { rowsOf, spreadsheet } from "../../../site/static/js/records/spreadsheet.mjs";
import { textOf } from "../copy_states.mjs";

/** A zip by its central directory (APPNOTE 4.3.12) and Node's zlib: name -> text. @param {Buffer} zip */
function unzipped(zip) {
  const end = zip.lastIndexOf(Buffer.from("PK\x05\x06"));
  const found = new Map();
  for (let at = zip.readUInt32LE(end + 16), n = zip.readUInt16LE(end + 10); n > 0; n -= 1) {
    const [packed, size, name, extra, comment] = [zip.readUInt32LE(at + 20), zip.readUInt32LE(at + 24), zip.readUInt16LE(at + 28), zip.readUInt16LE(at + 30), zip.readUInt16LE(at + 32)];
    const local = zip.readUInt32LE(at + 42);
    const begin = local + 30 + zip.readUInt16LE(local + 26) + zip.readUInt16LE(local + 28);
    const bytes = inflateRawSync(zip.subarray(begin, begin + packed));
    assert.equal(bytes.length, size);
    assert.equal(crc32(bytes), zip.readUInt32LE(at + 16));
    found.set(zip.subarray(at + 46, at + 46 + name).toString(), bytes.toString("utf-8"));
    at += 46 + name + extra + comment;
  }
  return found;
}

/** RFC 4180, read strictly. @param {string} text @returns {string[][]} */
function parsed(text) {
  assert.equal(text[0], "\ufeff");
  const rows = [];
  let row = [];
  const fields = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)/gy;
  fields.lastIndex = 1;
  while (fields.lastIndex < text.length) {
    const [, quoted, plain, after] = fields.exec(text) ?? assert.fail(`no field at ${fields.lastIndex}`);
    row.push(quoted === undefined ? plain : quoted.replaceAll('""', '"'));
    if (after === "\r\n") rows.push(row.splice(0));
  }
  return rows;
}

const tables = async (events) => {
  const zip = Buffer.from(await (await spreadsheet(() => [events.slice(0, 7), events.slice(7)])).arrayBuffer());
  return new Map([...unzipped(zip)].map(([name, text]) => {
    const [head, ...rows] = parsed(text);
    for (const row of rows) assert.equal(row.length, head.length, name);
    return [name, rows.map((row) => Object.fromEntries(head.map((column, n) => [column, row[n]])))];
  }));
};

test("every event of a copy is in one row of the table of its kind, with every value of it", async () => {
  for (const name of ["rules-3-scale", "rules-3-workshop", "rules-3-spanish"]) {
    const { events } = JSON.parse(textOf(name));
    const found = await tables(events);
    for (const event of events) {
      const table = event.kind === "saved" ? `saved.${event.subject.split(":")[0]}.csv` : `${event.kind}.csv`;
      const rows = found.get(table).filter(({ id }) => id === event.id);
      assert.equal(rows.length, 1, `${event.kind} ${event.id}`);
      assert.deepEqual([rows[0].subject, rows[0].at, rows[0].local], [event.subject, event.at, event.local]);
      for (const [key, value] of Object.entries(event.values ?? {})) {
        assert.equal(rows[0][`values.${key}`].replace(/^'/, ""), value, `${event.subject} ${key}`);
      }
      if (event.kind === "weighed") assert.deepEqual([rows[0].reading, rows[0]["asked.target"]], [event.reading, String(event.asked.target)]);
      if (event.kind !== "issued") continue;
      for (const list of ["pours", "steps"]) {
        const lines = (found.get(`issued.${list}.csv`) ?? []).filter(({ id }) => id === event.id);
        assert.deepEqual(lines.map(({ key }) => key), event[list].map(({ key }) => key));
      }
    }
    assert.equal(events.length, [...found].filter(([name]) => /^(saved\.\w+|\w+)\.csv$/.test(name)).reduce((n, [, rows]) => n + rows.length, 0));
    assert.ok(![...found.values()].flat().some((row) => Object.values(row).some((text) => text.includes("<p"))));
  }
});

test("a list within a list says of which row it is", () => {
  const event = { id: "e", at: "t", local: "l", kind: "decided", subject: "block:A/1", steps: [{ key: "a", questions: [] }, { key: "b", questions: [{ code: "c" }] }], replaced: { x: { key: "x" } } };
  const rows = rowsOf(event);
  assert.deepEqual(rows.map(({ table }) => table), ["decided", "decided.steps", "decided.steps", "decided.steps.questions", "decided.replaced"]);
  assert.deepEqual(Object.fromEntries(rows[3].row), { id: "e", local: "l", subject: "block:A/1", "n.of": 2, n: 1, code: "c" });
});
