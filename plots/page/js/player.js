// Time: where the page stands, and how it goes on.

export class Player {
  /** `show(t)` draws a moment. */
  constructor(end, events, show, calm) {
    this.end = end;
    this.events = [...new Set(events)].sort((a, b) => a - b);
    this.show = show;
    this.calm = calm;
    this.t = 0;
    this.speed = 1;
    this.playing = false;
    this.work = []; // ms of script per frame, the last ones
    this.onState = () => {};
  }

  seek(t) {
    this.t = Math.min(this.end, Math.max(0, t));
    const from = performance.now();
    this.show(this.t);
    this.work.push(performance.now() - from);
    if (this.work.length > 2000) this.work.splice(0, 1000);
  }

  play() {
    if (this.playing) return;
    if (this.t >= this.end) this.seek(0);
    this.playing = true;
    const until = this.until ?? this.end;
    const { arrived } = this;
    this.until = null;
    this.arrived = null;
    this.onState();
    let before = null;
    let drawn = 0;
    const frame = (now) => {
      if (!this.playing) return;
      if (before !== null) {
        const t = Math.min(until, this.t + ((now - before) / 1000) * this.speed);
        // Who asked for less motion gets five pictures a second.
        if (!this.calm || now - drawn > 200 || t >= until) {
          this.seek(t);
          drawn = now;
        } else {
          this.t = t;
        }
      }
      before = now;
      if (this.t >= until) {
        this.pause();
        arrived?.();
      } else {
        requestAnimationFrame(frame);
      }
    };
    requestAnimationFrame(frame);
  }

  /** Plays on and stops at a moment; `arrived()` is called when it has come. */
  playTo(t, arrived) {
    this.pause();
    this.until = t;
    this.arrived = arrived;
    this.play();
  }

  pause() {
    this.playing = false;
    this.onState();
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  /** The event after or before this moment; null if there is none. */
  eventFrom(direction) {
    const near = 1e-7;
    if (direction > 0) return this.events.find((t) => t > this.t + near) ?? null;
    return this.events.findLast((t) => t < this.t - near) ?? null;
  }

  step(direction) {
    const t = this.eventFrom(direction);
    this.pause();
    this.seek(t ?? (direction > 0 ? this.end : 0));
    return t;
  }
}

/** Speeds that let a run be watched in a few seconds, and slowly enough to see a valve move. */
export function speedsFor(seconds) {
  const all = [0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 30, 60, 120, 300, 600];
  const most = Math.max(2, seconds / 10);
  return all.filter((s) => s <= most && s >= Math.min(0.02, seconds / 1000));
}
