/**
 * The shapes that pages, store and Python pass to each other.
 *
 * @typedef {Record<string, string>} Values                One form, flat, exactly as its controls are named.
 * @typedef {"saved" | "removed" | "issued" | "demo_cleared" | "settings"} Kind
 * @typedef {{id: string, revision: number, event: string, name: string}} FormulaUsed
 * @typedef {object} TarewellEvent
 * @property {string} id          uuid
 * @property {string} at          UTC instant, ISO
 * @property {string} local       the same instant on the user's clock, ISO with offset
 * @property {Kind} kind
 * @property {string} subject     "mould:m-block", "batch:QM-261125-1", "settings:shop", "demo:workshop"
 * @property {Values} [values]
 * @property {number} [revision]  saved formulas only
 * @property {string} [code]      issued only, with all that the door's record holds
 * @property {FormulaUsed} [formula]
 * @property {string} [html]
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
