/** What the screen says of people: coming in, sessions, tokens, and who writes in a zone. */

import type {
  PersonChanged,
  RecordedEvent,
  SessionEnded,
  SessionOpened,
  TokenMade,
  TokenRevoked,
  ZoneWriterChanged,
} from "../protocol/events";

export type PeopleEvent = PersonChanged | SessionOpened | SessionEnded | TokenMade | TokenRevoked | ZoneWriterChanged;

const by = (person: string) => (person === "" ? "" : ` by ${person}`);
const because = (reason: string) => (reason === "" ? "" : `: ${reason}`);

const CHANGES = {
  added: "may log in now",
  roles: "has other roles",
  disabled: "may not log in any more",
  enabled: "may log in again",
  password: "has another password",
} as const;

export const peopleWords = {
  gate: {
    title: "Log in",
    name: "Name",
    password: "Password",
    enter: "Log in",
    trying: "Trying …",
    orLink:
      "At the console's own machine you can also open the link that it printed; each works once, for five minutes.",
    unreachable: "The console does not answer. Try again in a moment.",
  },
  /** What the console calls whoever came in by its launch link. */
  atThisMachine: "this machine",
  leave: "Log out",
  account: "You",
  sessions: "Where you are in",
  thisOne: "this browser",
  since: (clock: string) => `since ${clock}`,
  end: "End it",
  tokens: "Your tokens for scripts",
  noTokens: "None.",
  until: (day: string) => `until ${day}`,
  lastUsed: (when: string) => `last used ${when}`,
  neverUsed: "never used",
  revoke: "Revoke",
  close: "Close",
  failed: "That did not work; nothing was changed.",
  zone: {
    take: "take",
    release: "give up",
    offer: "offer",
    withdraw: "keep",
    accept: "accept",
    writes: (person: string) => `${person} writes`,
    you: "you write",
    offers: (person: string) => `${person} offers it`,
    offered: "offered",
  },
} as const;

/** Whether an event is about people or zones. */
export function isPeopleEvent(event: RecordedEvent): event is PeopleEvent {
  return PEOPLE_KINDS.has(event.kind);
}

const PEOPLE_KINDS: ReadonlySet<RecordedEvent["kind"]> = new Set<RecordedEvent["kind"]>([
  "person changed",
  "session opened",
  "session ended",
  "token made",
  "token revoked",
  "zone writer changed",
]);

/** One event about people in a sentence. */
export function peopleEventWords(event: PeopleEvent): string {
  switch (event.kind) {
    case "person changed":
      return `${event.person.name} ${CHANGES[event.change]}${by(event.by)}`;
    case "session opened":
      return `${event.session.person} came in by ${event.session.way}`;
    case "session ended":
      return `${event.person} is out${because(event.reason)}${by(event.by)}`;
    case "token made":
      return `${event.token.person} made the token ${event.token.name}`;
    case "token revoked":
      return `the token ${event.name} of ${event.person} opens nothing any more${because(event.reason)}${by(event.by)}`;
    case "zone writer changed":
      return event.writer === null
        ? `${event.zone}: everybody may write (${event.step})${by(event.by)}`
        : `${event.zone}: ${event.writer.person} writes (${event.step})${because(event.reason)}`;
  }
}
