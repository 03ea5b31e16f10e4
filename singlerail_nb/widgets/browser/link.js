// The wire to the kernel: the newest state wins, at most three states in flight.
// Without a channel (a handout opened from disk) every call does nothing.

const MOST_IN_FLIGHT = 3;
const PATIENCE_MS = 15000;

export class Link {
  constructor(channel, { onMessage, onStatus }) {
    Object.assign(this, { channel, onStatus, seq: 0, inFlight: 0, waiting: null });
    this.origin = `view-${Math.random().toString(36).slice(2)}`;
    this.listener = (message) => {
      if (message.type === "confirmed" && message.origin === this.origin && message.seq > 0) this.landed(message);
      onMessage(message);
    };
    channel?.on("msg:custom", this.listener);
    this.post({ type: "hello", origin: this.origin, seq: 0 });
  }

  get alive() {
    return this.channel !== null;
  }

  post(message) {
    this.channel?.send(message);
  }

  sendState(state) {
    if (!this.alive) return;
    this.seq += 1;
    const message = { type: "state", origin: this.origin, seq: this.seq, state };
    if (this.inFlight >= MOST_IN_FLIGHT) this.waiting = message;
    else this.launch(message);
  }

  launch(message) {
    this.inFlight += 1;
    this.onStatus("waiting");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.lost(), PATIENCE_MS);
    this.post(message);
  }

  landed(message) {
    this.inFlight = Math.max(0, this.inFlight - 1);
    const next = this.waiting;
    this.waiting = null;
    if (next) this.launch(next);
    else if (message.seq === this.seq) {
      clearTimeout(this.timer);
      this.onStatus("confirmed");
    }
  }

  // The kernel is busy, restarted or gone: say so; the newest state goes out with the next change.
  lost() {
    this.inFlight = 0;
    this.waiting = null;
    this.onStatus("silent");
  }

  isNewest(message) {
    return message.origin !== this.origin || message.seq === this.seq;
  }

  close() {
    clearTimeout(this.timer);
    this.channel?.off("msg:custom", this.listener);
  }
}
