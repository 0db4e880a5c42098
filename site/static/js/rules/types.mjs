/**
 * The shapes that pages, store and Python pass to each other.
 *
 * @typedef {Record<string, string>} Values                One form, flat, exactly as its controls are named.
 * @typedef {(typeof import("./kinds.mjs"))["DECLARED"]} Groups
 * @typedef {{[group in keyof Groups]: keyof Groups[group]["kinds"]}} Kinds
 * @typedef {Kinds["block"]} BlockKind    At the scale.
 * @typedef {Kinds["walk"]} WalkKind      A safety walk.
 * @typedef {Kinds["cure"]} CureKind      The bars of a block on a rack.
 * @typedef {Kinds["tank"]} TankKind      What a tank holds.
 * @typedef {Kinds["fill"]} FillKind     A tank filled step by step.
 * @typedef {Kinds["phone"]} PhoneKind    A phone of the shop.
 * @typedef {Kinds["day"]} DayKind        The plan of a day.
 * @typedef {Kinds["inci"]} InciKind      A name of an ingredient, confirmed.
 * @typedef {Kinds["upkeep"]} UpkeepKind  Upkeep: a task done, a fault mended.
 * @typedef {Kinds["release"]} ReleaseKind  Whether a block's bars may be sold.
 * @typedef {Kinds["packed"]} PackedKind  A packed lot, and where its bars went.
 * @typedef {Kinds["after_sale"]} AfterSaleKind  What came of it afterwards.
 * @typedef {Kinds["stock"]} StockKind    What was counted or thrown of a lot.
 * @typedef {Kinds[keyof Kinds]} Kind     All that shared/records/kinds.json declares.
 * @typedef {{id: string, revision: number, event: string, name: string}} FormulaUsed
 * @typedef {object} TarewellEvent
 * @property {string} id          uuid
 * @property {string} at          UTC instant, ISO
 * @property {string} local       the same instant on the user's clock, ISO with offset
 * @property {Kind} kind
 * @property {string} [device]    which phone it was stored on, where that one was paired with a shop server
 * @property {string} subject     "mould:m-block", "batch:QM-261125-1", "block:QM-261125-1/2", "walk:ID", "contents:t-lye", "fill:t-lye.20261201070500", "release:QM-261125-1/2", "packed:ID", "eyewash:weekly", "day:2026-12-01", "upkeep_log:wires", "settings:shop", "demo:workshop"
 * @property {Values} [values]
 * @property {number} [revision]  saved formulas only
 * @property {string} [code]      issued only, with all that the door's record holds
 * @property {FormulaUsed} [formula]
 * @property {string | null} [issued_by]  issued
 * @property {string | null} [replaces]  issued: the code of the sheet in whose place it stands
 * @property {string} [html]
 * @property {Step[]} [steps]     issued: the work of every block; decided: what comes after the step
 * @property {Step[]} [after]     issued: the work of every block from the mould to the rack; older sheets have none
 * @property {{total: number, bar_mm: number[]} | null} [planned]  issued: what the cutter was to give of a block; Python reads more of it
 * @property {number} [blocks]
 * @property {any} [mould]
 * @property {any} [vessel]
 * @property {any} [pours]        what it weighs out; Python reckons from it
 * @property {number} [batter_g]  of one block
 * @property {{order?: Values, formula?: Values}} [inputs]  the strings behind an issued sheet
 * @property {any} [chemistry]    what its superfat hangs on
 * @property {number} [superfat_stated_fraction]  issued
 * @property {any} [oils]
 * @property {any} [superfat]
 * @property {any} [scent]
 * @property {{lots: {id: string, taken_g: number}[]}} [set_aside]  issued: what goes in of soap set aside before, in one block
 * @property {string} [person]    who did it; on every event of a block
 * @property {string} [from]      taken_over, fill_taken_over: the id of the phone that was at it before; and what people call that phone; phone_revoked: that alone
 * @property {string} [phone]
 * @property {string} [step]      the step's key
 * @property {string} [reading]   as typed: "16.34"
 * @property {string} [unit]
 * @property {string | null} [lot]
 * @property {Asked} [asked]      what the reading was asked for
 * @property {string | null} [question]  what was asked back and affirmed
 * @property {Heard} [heard]      weighed, measured: what a scale that speaks said when the reading was confirmed
 * @property {"net" | "gross"} [mode]
 * @property {"started" | "ended"} [action]
 * @property {number} [seconds]
 * @property {string} [note]
 * @property {string} [renews]    closed: the id of the closing whose record it makes anew
 * @property {string} [corrects]  the id of the event whose reading this one puts right
 * @property {string | null} [reason]
 * @property {string} [choice]
 * @property {string} [text]
 * @property {Record<string, Step>} [replaced]
 * @property {string} [cover]     covered, lifted: what lay over it
 * @property {string} [of_formula]  lifted, racked: the name of the formula; lifted: and of the mould
 * @property {string} [in_mould]
 * @property {string | null} [room]
 * @property {string} [gel]
 * @property {number} [trays]     racked; and how many bars lie where
 * @property {number} [bars]
 * @property {string | null} [place]
 * @property {number | null} [density_g_per_ml]  racked: of its first bar
 * @property {"poured" | "quarantined"} [outcome]
 * @property {any} [record]
 * @property {Record<string, string>} [lots]  pour -> lot code
 * @property {string | null} [helper]    trained: whose training covers it, null with a reason; walk_begun: who is walked, by whom, in which language and way, through which phases
 * @property {string} [until]     trained: the last day on which that training holds
 * @property {string} [stopped]   trained: the walk whose open stop barred the lye, of who said it or of the place; then `reason` stands beside a helper too
 * @property {Record<string, string>} [eyewash]  trained: how each check that did not hold stood then, "weekly" -> "over"
 * @property {true} [took_over]  trained: it was not asked, for the block was in hand; `reason` says so
 * @property {"held" | "missing"} [daily]  trained: how the daily check of who said it stood; none where it was not asked for yet
 * @property {string} [guide]     walk_begun; and with `reason` why, where that person's own training doesn't cover it
 * @property {string} [language]
 * @property {string} [way]
 * @property {string[]} [phases]  walk_begun; walk_signed: those that were signed then
 * @property {string[]} [points]  what is asked, in order; "KEY/teach" is a point to say back
 * @property {Record<string, string[]>} [by_phase]  phase -> its points, where each phase is signed on its own; walks begun before that was so have none
 * @property {OwnPoint[]} [own]   the maker's own points, frozen with the walk
 * @property {string} [point]     walk_answered
 * @property {string} [answer]    "yes", "no" (stops the walk), "again" (to say back once more)
 * @property {string} [accepts]   checked: the id of the earlier check that it rests on
 * @property {string} [scale]     scale_checked, scale_moved: its name; and what was asked of it, as it was frozen
 * @property {string} [said]
 * @property {string} [soap]      cure_racked: what it is called, how much water is in it [g/g], and which places of the rack it takes
 * @property {number} [water]
 * @property {string} [next_on]   cure_weighed: the day of the next weighing, and the day it is ready by the forecast then
 * @property {string} [ready_on]
 * @property {number[]} [places]
 * @property {(TankPart | PackedPart)[]} [parts]   packed: of which block how many bars; tank_loaded: what went in; the lot that sheets call it by; the ids of the formulas it is for
 * @property {string | null} [as_lot]
 * @property {string[] | null} [formulas]
 * @property {string} [fill]      tank_loaded: the id of the fill that it comes of
 * @property {{lot: string, n: number}[]} [packaging]   packed: the lots of packaging round the bars, each with its pieces
 * @property {number} [pieces]    stock_counted, stock_thrown: of packaging
 * @property {number} [grams]     tank_drawn; stock_counted: what was found of a lot; stock_thrown: what went
 * @property {number} [strength_fraction]  tank_strength: and from where to where it may lie, and how it was found
 * @property {number | null} [low_fraction]
 * @property {number | null} [high_fraction]
 * @property {string | null} [method]
 * @property {number} [temperature_c]  tank_temperature: and what it was read with
 * @property {string | null} [instrument]
 * @property {string} [switch_at]  tank_switch_kept: when by the clock there, "2026-12-01T05:10", and which tank, by its name
 * @property {string} [ready_at]  and when it is to be ready, by the same clock; none before that was kept
 * @property {string} [name]      also inci_confirmed: what the ingredient is called on a label
 * @property {number} [wanted_c]
 * @property {string} [tank]      fill_issued: the tank's id and name; pours, steps, phases and oils stand as a sheet's
 * @property {string} [tank_name]
 * @property {number | null} [wanted_fraction]  fill_issued: how strong its lye becomes, and what stood in the tank before
 * @property {{grams: number, hydroxide_fraction?: number | null} | null} [before]
 * @property {Step[]} [cooling]  fill_issued: the wait that follows a reading too warm for its portion; none before there was one
 * @property {string | null} [load]  fill_closed: the id of the load that it put into the tank's record
 * @property {DayEntry[]} [entries]  day_planned: what Today tells of it
 * @property {string} [found]     upkeep_done: what was amiss; it stays open until somebody says that it is mended
 * @property {string} [mends]     upkeep_mended: the id of the entry that found it
 * @property {string} [clears]    the id of the "no" that is put right
 * @property {string} [takes]     the id of the "yes" that is taken back; cure_taken_back, tank_taken_back, upkeep_taken_back, stock_taken_back, inci_taken_back: of the entry; tank_switched_on, tank_switch_dropped: of what was kept; tank_switched_off: of what was switched on
 * @property {ReleaseCheck[]} [checks]  released, rejected, reworked: what was asked of the block, and what was known
 * @property {number | null} [net_g]  released: the weight on the label
 * @property {string} [outlet]    sent, came_back: the id of the outlet, and what it was called then
 * @property {string | null} [outlet_name]
 * @property {string} [on]        the day it was
 * @property {string} [about]     complaint, recall_begun, recall_done: the code that it is about
 * @property {string} [serious]
 * @property {number} [outlets]
 * @property {string} [initials]  walk_signed: typed, or drawn
 * @property {string} [path]
 * @property {string} [day]       eyewash_checked: when it was, "2026-11-25"; and what was found, each "yes" or "no"
 * @property {string} [order]
 * @property {string} [way_free]
 * @property {string} [tepid]
 *
 * @typedef {{at: string, kind: "oil_on" | "lye_on" | "tank_on" | "make" | "unmould" | "bars", mark: string, soap: string, subject: string, tank?: string}} DayEntry   `at`: by the clock there, "2026-12-01T07:10"; `subject`: "" of a block that no sheet is issued for; tank_on: of which tank, its name for the soap's.
 *
 * @typedef {{target: number, low: number, high: number, decimals: number, unit: string, division: number}} Asked
 *
 * @typedef {{scale: string, at: string, raw: string, status: string, count: string | null, unit: string | null}} Heard   By the scale's name; at: by the clock of who read it.
 *
 * @typedef {{name: string, lot?: string | null, oil?: string | null, grams: number, alkali?: "naoh" | "koh" | null, hydroxide_fraction?: number | null}} TankPart
 *
 * @typedef {{code: string, block: number, bars: number}} PackedPart   Of which block how many bars.
 * @typedef {{key: string, state: "passed" | "failed" | "unknown", value?: number | null, limit?: number | null, source?: string | null}} ReleaseCheck
 *
 * @typedef {object} BlockFold    One block as its events leave it.
 * @property {Step[]} steps
 * @property {number} index       of the step in hand; the number of steps when all are done
 * @property {Map<string, TarewellEvent>} done   step -> what completed it
 * @property {Map<string, TarewellEvent[]>} again  step -> what completed it once more, on another phone
 * @property {TarewellEvent | null} closed  its record, at the pour
 * @property {boolean} stale       a reading was put right since that record was made
 * @property {TarewellEvent | null} ended   before the rack, by somebody's word
 *
 * @typedef {{what: string, question: string, stop: string}} OwnWords
 * @typedef {{key: string, phase: string, en?: OwnWords, es?: OwnWords} & Partial<OwnWords>} OwnPoint   Older ones hold their words themselves, in a language that nobody has named.
 *
 * @typedef {object} WalkPart     What of a walk is signed on its own.
 * @property {string | null} phase  null in a walk of one piece
 * @property {string[]} phases
 * @property {string[]} points
 * @property {Map<string | undefined, TarewellEvent>} done  point -> the "yes" that counts
 * @property {string[]} left      still to be asked, or asked anew
 * @property {TarewellEvent | null} signed  after all of its points as they stand now
 *
 * @typedef {object} WalkFold     One walk as its events leave it.
 * @property {TarewellEvent} begun
 * @property {string[]} points
 * @property {WalkPart[]} parts
 * @property {number} index       of the point in hand; the number of points when all are answered
 * @property {Map<string | undefined, TarewellEvent>} done  point -> the "yes" that counts
 * @property {{no: TarewellEvent, cleared: TarewellEvent | null}[]} stops  every "no", and what put it right
 * @property {TarewellEvent | null} stopped  the "no" that nobody has cleared
 * @property {TarewellEvent[]} again
 * @property {string[]} languages  in which it was shown, answer by answer
 * @property {TarewellEvent | null} signed  the last of its signatures, once all of it is signed
 * @property {TarewellEvent | null} closed  given up
 * @property {string} last        the newest event's id
 *
 * @typedef {{subject: string, code: string, block: number, at: string}} BlockEntry   A block that is begun and not closed.
 *
 * @typedef {object} Standing     What stands of one thing, by all that was told of it; each part only where there is something. rules/standing.mjs makes it.
 * @property {string} key          "block:CODE/N" for the bars of a block; else the subject itself
 * @property {number} fold         which fold made it
 * @property {["on" | "off" | "lost", string, string]} [rack]  where its bars are, and since when: the instant and the id of what put them there
 * @property {{soap: string, cut: string, weigh: string, ready: string}} [bars]  of those on a rack or off it
 * @property {true} [barred]       they were rejected, or go into another batch
 * @property {string[]} [cutter]   the ids of what the cutter told of its rack
 * @property {string[]} [drew]     what was weighed of lots and blends: lot, instant and event, as drawKey has it
 * @property {string[]} [corrected]  the ids of what puts its readings right
 * @property {[string, string]} [aside]  when soap was set aside that still lies there, and by which event
 * @property {string} [closed]     when its record was closed, by the clock there: "2026-12-01T05:10:00"
 * @property {[string, string, string, string, string]} [lifted]  formula, mould and cover of a block that came out of its mould; when, and by which event
 * @property {number} [seconds]    how long it had stood in it
 * @property {[string, string, string]} [soap]  formula of a block whose set soap was weighed; when, and by which event
 * @property {number} [density]    how dense that was [g/ml]
 * @property {[string, string]} [covered]  when it was covered last, and by which event; and when its trays were put down
 * @property {[string, string]} [shelved]
 * @property {string} [trained]    when it was last said who is trained, and by which events lately
 * @property {string[]} [answers]
 * @property {string} [walked]     a walk: when something was last told of it, and the same where a stop of it is open
 * @property {string} [stopped]
 * @property {TarewellEvent[]} [told]  of a tank's switch-ons, a task's log and a scale's checks, what still tells something
 *
 * @typedef {{code: string, low: number, high: number, text: string}} Question   Readings from low to high are asked back.
 * @typedef {{scale: string, unit: string, decimals: number, division: number, from_text: string}} FinerScale
 *
 * @typedef {object} Step         One thing to do, frozen with the sheet: calc/steps/step.py tells what each part means. Older sheets lack what may be missing here.
 * @property {string} key
 * @property {"confirm" | "weigh" | "temperature" | "timer" | "cover" | "gel" | "lift" | "measure" | "rack"} kind
 * @property {boolean} safety
 * @property {string} title
 * @property {string} how
 * @property {string[] | null} [how_around]
 * @property {string | null} stop
 * @property {string | null} pour
 * @property {"oil" | "alkali" | "water" | "lye made" | "additive" | "scent" | "soap" | null} [pour_kind]
 * @property {string | null} lot
 * @property {string | null} scale
 * @property {string | null} unit
 * @property {number | null} decimals
 * @property {number | null} division
 * @property {number | null} [most]
 * @property {number | null} target
 * @property {number | null} low
 * @property {number | null} high
 * @property {string | null} target_text
 * @property {string | null} band_text
 * @property {number | null} [gross]
 * @property {string | null} gross_text
 * @property {number | null} close_valve
 * @property {string | null} close_valve_text
 * @property {FinerScale | null} fine
 * @property {boolean} twice
 * @property {Question[]} questions
 * @property {number | null} seconds
 * @property {string | null} next
 * @property {StepWords} [es]     the same words in Spanish
 *
 * @typedef {object} StepWords    calc/steps/words.py
 * @property {string} title
 * @property {string} how
 * @property {string[] | null} [how_around]
 * @property {string | null} stop
 * @property {string | null} band_text
 * @property {string | null} close_valve_text
 * @property {string | null} next
 * @property {string | null} from_text
 * @property {string[]} questions
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
 * @property {string[]} [takes]    the lots of set-aside soap that go into it
 * @property {string} [replaces]   the code of the sheet in whose place it stands
 *
 * @typedef {"issued" | "weighing" | "poured" | "cut" | "curing" | "cured" | "released" | "reworked" | "rejected" | "ended" | "apart"} LogState   ended: before the rack; apart: closed, and kept out.
 * @typedef {{n: number, pour: string, kind: string, lot: string, g: number}} UsedRow   One pour of a closed block out of one lot; `lot` is "" where it has none.
 * @typedef {UsedRow & {parts?: {lot: string, share: number}[], readings?: {lot: string, reading: string}[]}} UsedLot   Of a mixed scent, what it is of; of an older record, what was read out of which lot.
 *
 * @typedef {{n: number, lot: string, at: string, local: string}} DrawnRow   One weighing, as it was told; `lot` is "" of a blend out of a tank.
 * @typedef {DrawnRow & {soap?: true}} DrawnLot   soap: its lot is a block, whose set-aside soap it was
 *
 * @typedef {object} LogPart       One block in the batch log. Days are those of the clock there; "" where it never came to that.
 * @property {number} n
 * @property {LogState} state
 * @property {string} poured_on
 * @property {string} closed_at   when its record was closed, by the clock there; "" while it is open
 * @property {string} racked_on
 * @property {string} released_on
 * @property {number | null} bars  good ones, as counted
 * @property {string[]} people
 * @property {number} deviations
 *
 * @typedef {object} LogEntry      One batch in the batch log: what search, trace and stock tell without its sheet. rules/log.mjs makes it.
 * @property {string} code
 * @property {number} fold         which fold made it
 * @property {string} at
 * @property {string} local
 * @property {string} formula      its item's id
 * @property {string} formulaName
 * @property {string} formulaEvent
 * @property {number} blocks       that its sheet is for
 * @property {LogState} state
 * @property {LogPart[]} parts     its blocks, also those that nobody has begun
 * @property {string[]} lots       used or, of blocks that are not closed, planned
 * @property {UsedLot[]} used
 * @property {DrawnLot[]} drawn
 * @property {string[]} people
 * @property {number} deviations
 * @property {string[]} words      what was said of them
 * @property {string} [replaces]   the code of the sheet in whose place it stands
 * @property {true} [twice]        two sheets were issued under this code
 */
export {};
