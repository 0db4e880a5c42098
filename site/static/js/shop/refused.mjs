/** The shop server, or this phone, does not do what was asked. `key` says why. */
export class Refused extends Error {
  /**
   * @param {"refused" | "expired" | "taken_name" | "no_shop" | "practice" | "unreachable" | "not_owner" | "unknown" | "last_owner" | "waiting" | "no_seat"} key
   */
  constructor(key) {
    super(key);
    this.key = key;
  }
}
