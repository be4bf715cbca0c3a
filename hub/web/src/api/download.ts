/** Hands a file that was fetched to the browser to keep. */

/** The file name of a Content-Disposition header (RFC 6266), or null. */
export function nameOf(disposition: string | null): string | null {
  const found = /(?:^|;)\s*filename="?([^";]+)"?/i.exec(disposition ?? "")?.[1];
  const name = found?.split(/[/\\]/).at(-1)?.trim();
  return name || null;
}

export function keep(file: File): void {
  const address = URL.createObjectURL(file);
  const link = document.createElement("a");
  link.href = address;
  link.download = file.name;
  link.click();
  // The browser reads the file after the click has returned.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
