import type { PersonView, Problem } from "../protocol/model";

const LAUNCH = /^#launch=([A-Za-z0-9_.~-]{1,512})$/;

const ANSWER_WITHIN_MS = 4000;

export type SessionAnswer =
  | { readonly kind: "open"; readonly person: PersonView }
  | { readonly kind: "none"; readonly reason: string }
  | { readonly kind: "unreachable" };

/** The token of a launch link, or null. */
export function launchToken(hash: string): string | null {
  return LAUNCH.exec(hash)?.[1] ?? null;
}

/** Exchanges the launch token of the page's address for a session, and takes it out of the address. */
export async function openSession(): Promise<SessionAnswer> {
  const token = launchToken(location.hash);
  if (token === null) return askSession();
  history.replaceState(null, "", location.pathname + location.search);
  const answer = await ask("/api/v1/session/launch", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ token }),
  });
  // A link that was used before may have been used by this very browser: then its session still stands.
  return answer.kind === "none" ? askSession(answer.reason) : answer;
}

/** Asks whether this browser has a session. */
export async function askSession(reason = ""): Promise<SessionAnswer> {
  const answer = await ask("/api/v1/session", {});
  return answer.kind === "none" ? { kind: "none", reason } : answer;
}

/** Comes in by name and password; a refusal gives the console's words. */
export function logIn(name: string, password: string): Promise<SessionAnswer> {
  const body = JSON.stringify({ name, password });
  return ask("/api/v1/session/login", { method: "POST", headers: { "Content-Type": "application/json" }, body });
}

async function ask(path: string, request: RequestInit): Promise<SessionAnswer> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const response = await fetch(path, { ...request, credentials: "same-origin", signal });
    const body: unknown = await response.json();
    if (response.ok) return { kind: "open", person: (body as { person: PersonView }).person };
    if (response.status >= 500) return { kind: "unreachable" };
    return { kind: "none", reason: (body as Problem).detail };
  } catch {
    return { kind: "unreachable" };
  }
}
