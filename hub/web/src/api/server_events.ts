/** Reads server-sent events from bytes (WHATWG HTML, section 9.2), for EventSource cannot carry the token's header. */

export interface ServerEvent {
  event: string;
  data: string;
}

const EVENT_LIMIT = 1 << 20;

export class ServerEventReader {
  private readonly decoder = new TextDecoder();
  private line = "";
  private event = "";
  private data: string[] = [];
  private size = 0;
  private afterReturn = false;

  push(chunk: Uint8Array): ServerEvent[] {
    const events: ServerEvent[] = [];
    let text = this.decoder.decode(chunk, { stream: true });
    if (this.afterReturn && text.startsWith("\n")) text = text.slice(1);
    if (text !== "") this.afterReturn = text.endsWith("\r");
    const lines = (this.line + text).split(/\r\n|\n|\r/);
    this.line = lines.pop() ?? "";
    for (const line of lines) {
      const event = this.take(line);
      if (event) events.push(event);
    }
    if (this.line.length + this.size > EVENT_LIMIT) throw new RangeError("an event larger than 1 MiB");
    return events;
  }

  private take(line: string): ServerEvent | null {
    if (line === "") return this.dispatch();
    const colon = line.indexOf(":");
    if (colon === 0) return null;
    const field = colon < 0 ? line : line.slice(0, colon);
    const value = colon < 0 ? "" : line.slice(colon + 1).replace(/^ /, "");
    if (field === "event") this.event = value;
    if (field === "data") {
      this.data.push(value);
      this.size += value.length;
    }
    return null;
  }

  private dispatch(): ServerEvent | null {
    const done = this.data.length ? { event: this.event || "message", data: this.data.join("\n") } : null;
    this.event = "";
    this.data = [];
    this.size = 0;
    return done;
  }
}
