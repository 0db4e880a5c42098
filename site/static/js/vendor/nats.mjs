// What the shop server is spoken to with. The build joins it into a file of its own, which a page loads only where it is needed.
export { headers, nkeyAuthenticator, usernamePasswordAuthenticator, wsconnect } from "@nats-io/nats-core";
export { createUser, fromSeed } from "@nats-io/nkeys";
