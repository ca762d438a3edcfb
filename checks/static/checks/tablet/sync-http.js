/** Talking to the server: every answer becomes one of a few outcomes, and a network that lies counts as none. */

const PATIENCE_MS = 30_000;

/** No network, or something between us and the server that answered in its stead. */
export class Unreachable extends Error {}

/**
 * @returns {Promise<{status: number, body: any, headers: Headers}>} of an answer that is ours (JSON)
 * @throws {Unreachable}
 */
export async function call(address, options = {}) {
  let answer;
  try {
    answer = await fetch(address, {
      credentials: "same-origin",
      cache: "no-store",
      redirect: "manual", // a sign-in page of a yard's Wi-Fi is no answer of ours
      signal: AbortSignal.timeout(PATIENCE_MS),
      ...options,
    });
  } catch (error) {
    throw new Unreachable(error.message);
  }
  if (answer.type === "opaqueredirect") throw new Unreachable("redirected");
  if (answer.status === 304) return { status: 304, body: null, headers: answer.headers };
  return { status: answer.status, body: await bodyOf(answer), headers: answer.headers };
}

async function bodyOf(answer) {
  const kind = answer.headers.get("Content-Type") ?? "";
  try {
    if (kind.includes("json")) return await answer.json();
    await answer.text();
  } catch (error) {
    throw new Unreachable(error.message);
  }
  if (answer.ok) throw new Unreachable("not ours");
  return null;
}

/** Send JSON with the token that writes need. */
export function post(address, token, body) {
  return call(address, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token },
    body: JSON.stringify(body),
  });
}
