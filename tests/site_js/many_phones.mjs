/** Many seeds of the three phones, for `build.py bench phones`: prints `figure: value unit` lines; its code says whether all held. */
import { argv, exit } from "node:process";

const seeds = Number(argv[2]);
const first = Number(argv[3] ?? 1);
// By copies alone, or by a shop server too.
const { simulate } = await import(argv[4] === "shop" ? "./shops_for_tests.mjs" : "./phones_for_tests.mjs");
const all = {};
const failed = [];
const started = performance.now();
for (let seed = first; seed < first + seeds; seed += 1) {
  try {
    const { told } = await simulate(seed);
    for (const [what, n] of Object.entries(told)) all[what] = (all[what] ?? 0) + n;
  } catch (error) {
    failed.push(seed);
    console.error(`seed ${seed}: ${error}`);
  }
}
const WORDS = {
  recorded: "events recorded", taken: "copies taken in", damaged: "damaged copies refused", dropped: "copies lost on the way",
  crashed: "crashes while storing or taking in", wiped: "stores cleared by the browser", gone: "events gone with a cleared store, in no copy",
  copies: "copies taken in beside the server", cut: "connections cut at a call", lost: "servers that lost everything", revoked: "phones thrown out",
  full: "records refused for want of room", again: "messages read again", seconds: "records sent again", forged: "messages that are no record, or another's",
};
for (const [what, words] of Object.entries(WORDS)) if (what in all) console.log(`${words}: ${all[what]}`);
console.log(`seeds that failed: ${failed.length}`);
console.log(`seeds: ${seeds}`);
console.log(`time a seed: ${((performance.now() - started) / seeds).toFixed(1)} ms`);
exit(failed.length > 0 ? 1 : 0);
