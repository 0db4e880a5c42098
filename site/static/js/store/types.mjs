/**
 * The shapes that pages, store and Python pass to each other.
 *
 * @typedef {Record<string, string>} Values                One form, flat, exactly as its controls are named.
 * @typedef {"weighed" | "checked" | "timed" | "corrected" | "decided" | "closed" | "lots"} BlockKind    At the scale.
 * @typedef {"saved" | "removed" | "issued" | "demo_cleared" | "settings" | BlockKind} Kind
 * @typedef {{id: string, revision: number, event: string, name: string}} FormulaUsed
 * @typedef {object} TarewellEvent
 * @property {string} id          uuid
 * @property {string} at          UTC instant, ISO
 * @property {string} local       the same instant on the user's clock, ISO with offset
 * @property {Kind} kind
 * @property {string} subject     "mould:m-block", "batch:QM-261125-1", "block:QM-261125-1/2", "settings:shop", "demo:workshop"
 * @property {Values} [values]
 * @property {number} [revision]  saved formulas only
 * @property {string} [code]      issued only, with all that the door's record holds
 * @property {FormulaUsed} [formula]
 * @property {string} [html]
 * @property {Step[]} [steps]     issued: the work of every block; decided: what comes after the step
 * @property {number} [blocks]
 * @property {any} [mould]
 * @property {any} [oils]
 * @property {string} [person]    who did it; on every event of a block
 * @property {string} [step]      the step's key
 * @property {string} [reading]   as typed: "16.34"
 * @property {string} [unit]
 * @property {string | null} [lot]
 * @property {Asked} [asked]      what the reading was asked for
 * @property {string | null} [question]  what was asked back and affirmed
 * @property {"net" | "gross"} [mode]
 * @property {"started" | "ended"} [action]
 * @property {number} [seconds]
 * @property {string} [note]
 * @property {string} [corrects]  the id of the event whose reading this one puts right
 * @property {string | null} [reason]
 * @property {string} [choice]
 * @property {string} [text]
 * @property {Record<string, Step>} [replaced]
 * @property {"poured" | "quarantined"} [outcome]
 * @property {any} [record]
 * @property {Record<string, string>} [lots]  pour -> lot code
 *
 * @typedef {{target: number, low: number, high: number, decimals: number, unit: string, division: number}} Asked
 *
 * @typedef {object} BlockFold    One block as its events leave it.
 * @property {Step[]} steps
 * @property {number} index       of the step in hand; the number of steps when all are done
 * @property {Map<string, TarewellEvent>} done   step -> what completed it
 * @property {Map<string, TarewellEvent[]>} again  step -> what completed it once more, on another phone
 * @property {TarewellEvent | null} closed
 *
 * @typedef {{subject: string, code: string, block: number, at: string}} BlockEntry   A block that is begun and not closed.
 *
 * @typedef {{code: string, low: number, high: number, text: string}} Question   Readings from low to high are asked back.
 * @typedef {{scale: string, unit: string, decimals: number, division: number, from_text: string}} FinerScale
 *
 * @typedef {object} Step         One thing to do, frozen with the sheet: calc/weigh_step.py tells what each part means.
 * @property {string} key
 * @property {"confirm" | "weigh" | "temperature" | "timer"} kind
 * @property {boolean} safety
 * @property {string} title
 * @property {string} how
 * @property {string | null} stop
 * @property {string | null} pour
 * @property {string | null} lot
 * @property {string | null} scale
 * @property {string | null} unit
 * @property {number | null} decimals
 * @property {number | null} division
 * @property {number | null} target
 * @property {number | null} low
 * @property {number | null} high
 * @property {string | null} target_text
 * @property {string | null} band_text
 * @property {string | null} gross_text
 * @property {number | null} close_valve
 * @property {string | null} close_valve_text
 * @property {FinerScale | null} fine
 * @property {boolean} twice
 * @property {Question[]} questions
 * @property {number | null} seconds
 * @property {string | null} next
 *
 * @typedef {{id: string, values: Values, revision?: number, event?: string, used_in?: string[]}} Item
 * @typedef {{units?: string, batch_codes?: string[]} & Record<string, any>} State
 *
 * @typedef {object} BatchEntry    What lists need of an issued batch, without its sheet.
 * @property {string} id           the event's id
 * @property {string} code
 * @property {string} at
 * @property {string} local
 * @property {string} formulaEvent
 * @property {string} formulaName
 */
export {};
