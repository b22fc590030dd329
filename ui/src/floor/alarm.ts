/** Alarm by sound and vibration, and keeping the screen awake where the browser allows it. */

export class Alarm {
  private audio: AudioContext | null = null;
  private every = 0;

  /** Must be called from a tap once: browsers give sound only then. */
  async allow(): Promise<boolean> {
    try {
      this.audio ??= new AudioContext();
      if (this.audio.state !== "running") await this.audio.resume();
    } catch {
      return false;
    }
    return this.allowed;
  }

  get allowed(): boolean {
    return this.audio?.state === "running";
  }

  get ringing(): boolean {
    return this.every !== 0;
  }

  /** Ring until `hush`: three beeps and a buzz every three seconds. */
  ring(): void {
    if (this.every) return;
    this.once();
    this.every = window.setInterval(() => this.once(), 3000);
  }

  hush(): void {
    clearInterval(this.every);
    this.every = 0;
    navigator.vibrate?.(0);
  }

  private once(): void {
    navigator.vibrate?.([400, 150, 400, 150, 400]);
    const a = this.audio;
    if (!a || a.state !== "running") return;
    [0, 0.32, 0.64].forEach((at, k) => {
      const tone = a.createOscillator();
      const gain = a.createGain();
      const from = a.currentTime + at;
      tone.type = "triangle";
      tone.frequency.value = k === 2 ? 988 : 740;
      gain.gain.setValueAtTime(0.0001, from);
      gain.gain.exponentialRampToValueAtTime(0.6, from + 0.02);
      gain.gain.exponentialRampToValueAtTime(0.0001, from + 0.26);
      tone.connect(gain).connect(a.destination);
      tone.start(from);
      tone.stop(from + 0.28);
    });
  }
}

/** Keeps the screen on while `on`; says whether it can. */
export class Awake {
  private lock: WakeLockSentinel | null = null;
  private wanted = false;

  constructor(private readonly heard: (awake: boolean) => void) {}

  async on(): Promise<void> {
    this.wanted = true;
    document.addEventListener("visibilitychange", this.again);
    await this.take();
  }

  off(): void {
    this.wanted = false;
    document.removeEventListener("visibilitychange", this.again);
    void this.lock?.release();
    this.lock = null;
  }

  private again = (): void => {
    if (!document.hidden && this.wanted) void this.take();
  };

  private async take(): Promise<void> {
    try {
      this.lock = await navigator.wakeLock.request("screen");
      this.lock.addEventListener("release", () => this.heard(false));
      this.heard(true);
    } catch {
      this.heard(false); // plain http, a low battery, or a browser without it
    }
  }
}
