/** The token that lets this browser tab speak to the hub. It leaves the address bar at once and dies with the tab. */

const KEY = "stringcourse.token";

export function tokenFromFragment(fragment: string): string | null {
  const token = new URLSearchParams(fragment.replace(/^#/, "")).get("token")?.trim();
  return token ? token : null;
}

/** What an address's fragment says besides the token. */
export function fragmentWithoutToken(fragment: string): string {
  const fields = new URLSearchParams(fragment.replace(/^#/, ""));
  fields.delete("token");
  return fields.size ? `#${fields}` : "";
}

export function openSession(): string | null {
  const given = tokenFromFragment(location.hash);
  if (given !== null) sessionStorage.setItem(KEY, given);
  const fragment = fragmentWithoutToken(location.hash);
  if (fragment !== location.hash) history.replaceState(history.state, "", location.pathname + location.search + fragment);
  return sessionStorage.getItem(KEY);
}

export function keepToken(token: string): void {
  sessionStorage.setItem(KEY, token);
}

export function forgetToken(): void {
  sessionStorage.removeItem(KEY);
}
