import { question, whyOff } from "../frame/app.mjs";
import { fault, sentence } from "../frame/notice.mjs";
import { redraw } from "../frame/redrawn.mjs";
import { inWords } from "./step_words.mjs";
import { lack } from "./view.mjs";

/** @import { Step } from "../rules/types.mjs" */
/** @import { Reply } from "../frame/app.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** What Python says about a block. Every step goes without it. */
export class Answers {
  /** @param {BlockAtScale} block */
  constructor(block) {
    this.block = block;
    /** @type {Reply | null} */
    this.reply = null;
    /** The event that the answer knows of. @type {string | null | undefined} */
    this.about = undefined;
  }

  /** The answer to just what is stored. @returns {Reply | null} */
  get now() {
    return this.about === this.block.head ? this.reply : null;
  }

  /** @param {string} region @returns {string | undefined} */
  html(region) {
    return this.now?.html?.[region];
  }

  /** Whether an answer is still on its way. */
  get waiting() {
    return this.now === null && !whyOff();
  }

  /** Why a region is missing, for the screens. @param {string} region */
  lacks(region) {
    return lack(this.now, region, whyOff());
  }

  /** A step with the target that follows from what was weighed. @param {string} key @returns {Step | undefined} */
  replaced(key) {
    const step = this.now?.record?.replaced?.[key];
    return step && inWords(step);
  }

  /** The step that waits for a decision, band or not. @returns {string | null} */
  get pending() {
    return this.now?.record?.pending ?? null;
  }

  /** @param {string} key @returns {{text: string, steps: Step[], replaced: Record<string, Step>, outcome: string | null} | undefined} */
  choice(key) {
    return this.now?.record?.choices?.[key];
  }

  /** The question whether the step in hand goes with oils that ended beside their plan. @param {string} key @returns {{text: string, answers: Record<string, string>, recorded: Record<string, string>, replaced: Record<string, Step>} | null} */
  asked(key) {
    const found = this.now?.record?.asked;
    return found?.key === key ? found : null;
  }

  async ask() {
    const { block } = this;
    const { head, question: { task, values }, asked: state } = block;
    const reply = await question(task, values, { state });
    if (!reply || !block.open || head !== block.head) return;
    if (reply.fault !== undefined) fault(reply.fault, reply.report ?? "");
    if (reply.problems?.[0]) sentence(`${reply.problems[0].message} ${reply.problems[0].remedy}`);
    const before = standing(block);
    this.about = head;
    this.reply = reply;
    const changed = before !== standing(block);
    // Only what the answer changes is drawn anew: nothing moves under a finger, no text that is typed goes.
    const typing = block.aside !== null && block.aside.name !== "closing";
    if (!typing && (changed || block.stage.find("[data-waits]"))) block.show();
    else this.fill();
  }

  /** Puts what is known into the screen's regions. */
  fill() {
    for (const place of this.block.stage.place.querySelectorAll(/** @type {"div"} */ ("[data-region]"))) {
      redraw(place, this.html(place.dataset.region ?? "") ?? "");
    }
    this.block.stage.lock(this.block.stage.locked);
  }
}

/** What the screen shows of where the block stands. @param {BlockAtScale} block */
const standing = ({ pending, step, answers }) =>
  JSON.stringify([pending, step && { ...step, questions: null, gross: null, gross_text: null }, step && answers.asked(step.key)]);
