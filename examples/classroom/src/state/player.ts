// SPDX-License-Identifier: BSD-3-Clause
/** The one clock of both pictures: play, pause, step, scrub, speed. Nothing moves before it is asked to. */

export interface PlayerListener {
  moved(day: number): void;
  playing(on: boolean): void;
}

/** At speed 1 a year passes in this many seconds. */
const secondsPerYear = 14;
const slides = [0, 1, 7, 30, 61, 91, 122, 152, 182, 213, 243, 274, 304, 335, 365]; // when motion is to be avoided

export class Player {
  #day = 0;
  #duration = 365;
  #frame = 0;
  #before = 0;
  speed = 1;
  stopAt = Infinity; // a day on which the clock stops by itself

  constructor(private readonly listener: PlayerListener) {}

  get day(): number {
    return this.#day;
  }
  get duration(): number {
    return this.#duration;
  }
  get isPlaying(): boolean {
    return this.#frame !== 0;
  }

  set duration(days: number) {
    this.#duration = days;
    if (this.#day > days) this.go(days);
  }

  get #end(): number {
    return Math.min(this.#duration, this.stopAt);
  }

  go(day: number): void {
    this.#day = Math.min(this.#duration, Math.max(0, day));
    this.listener.moved(this.#day);
  }

  step(days: number): void {
    this.pause();
    this.go(days > 0 ? Math.floor(this.#day + days + 1e-9) : Math.ceil(this.#day + days - 1e-9));
  }

  toggle(): void {
    if (this.isPlaying) this.pause();
    else this.play();
  }

  play(): void {
    if (this.isPlaying) return;
    if (this.#day >= this.#end - 1e-6) this.go(0);
    this.#before = performance.now();
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const tick = (now: number): void => {
      const seconds = (now - this.#before) / 1000;
      if (still) {
        // one picture after another instead of a glide
        if (seconds * this.speed >= 1) {
          this.#before = now;
          this.go(slides.find((d) => d > this.#day + 1e-6) ?? this.#duration);
        }
      } else {
        this.#before = now;
        this.go(this.#day + (Math.min(seconds, 0.25) * this.speed * 365) / secondsPerYear);
      }
      if (this.#day >= this.#end - 1e-6) {
        this.go(this.#end);
        this.pause();
        return;
      }
      this.#frame = requestAnimationFrame(tick);
    };
    this.#frame = requestAnimationFrame(tick);
    this.listener.playing(true);
  }

  pause(): void {
    if (!this.isPlaying) return;
    cancelAnimationFrame(this.#frame);
    this.#frame = 0;
    this.listener.playing(false);
  }
}
