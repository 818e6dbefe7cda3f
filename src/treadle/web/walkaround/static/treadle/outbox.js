// What was entered and is not yet safe on the server: written to the browser's own store before anything says "saved",
// sent one after the other, and let go only when the server's answer repeats its id.

const NAME = "treadle-outbox";
const STORE = "waiting";
const WAITS = [2, 4, 8, 15, 30];

/** Return an id; the browser's own maker needs a secure address, which a shop's plain http is not. */
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]*)/)?.[1] ?? "";

function open() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

/** Entries of one walk-around that wait; `told` is called whenever something changes. */
export class Outbox {
  constructor({ walk, sender, told }) {
    this.walk = walk;
    this.sender = sender;
    this.told = told;
    this.entries = [];
    this.state = "idle";
    this.tries = 0;
    this.busy = false;
  }

  /** Take up what an earlier visit left, and begin to send. */
  async start() {
    this.store = await open();
    const kept = await this.#all();
    this.entries = kept.filter((one) => one.walk === this.walk).sort((one, other) => one.number - other.number);
    addEventListener("online", () => this.soon());
    document.addEventListener("visibilitychange", () => document.hidden || this.soon());
    this.soon();
    return this.entries;
  }

  /** Keep an entry; resolves once it is written here for good. */
  async put(entry) {
    const kept = { problems: [], ...entry, state: "waiting", walk: this.walk, sender: this.sender, number: this.#next() };
    const before = this.entries;
    const shown = { ...kept, state: "writing" };
    this.entries = [...before.filter((one) => one.id !== kept.id), shown];
    this.told();
    try {
      await this.#write(kept);
    } catch (fault) {
      this.entries = before;
      throw fault;
    }
    shown.state = "waiting";
    this.told();
    this.soon();
    return kept;
  }

  /** Let an entry go that the person does not want to keep. */
  async drop(id) {
    await this.#change((store) => store.delete(id));
    this.entries = this.entries.filter((one) => one.id !== id);
    this.told();
  }

  /** Entries that still go out by themselves. */
  get waiting() {
    return this.entries.filter((one) => one.state === "waiting");
  }

  /** Send now, without waiting for the next try. */
  soon() {
    clearTimeout(this.timer);
    this.tries = 0;
    this.#send();
  }

  async #send() {
    if (this.busy || !this.store) return;
    this.busy = true;
    try {
      const locks = navigator.locks;
      if (locks) await locks.request(NAME, { ifAvailable: true }, async (lock) => { if (lock) await this.#sendAll(); });
      else await this.#sendAll();
    } finally {
      this.busy = false;
    }
    this.told();
    if (this.waiting.length && this.state !== "sign-in") {
      const wait = WAITS[Math.min(this.tries, WAITS.length - 1)];
      this.tries += 1;
      this.timer = setTimeout(() => this.#send(), wait * 1000);
    }
  }

  async #sendAll() {
    for (let entry = this.waiting[0]; entry; entry = this.waiting[0]) {
      const goesOn = await this.#sendOne(entry);
      if (!goesOn) return;
    }
    this.state = "idle";
  }

  /** Send one entry; return whether to go on with the next. */
  async #sendOne(entry) {
    let answer;
    let body = null;
    try {
      answer = await fetch(entry.url, { method: "POST", credentials: "same-origin", ...this.#packed(entry) });
      body = await answer.json();
    } catch {
      if (!answer || answer.ok) {
        this.state = "no-network";
        return false;
      }
    }
    if ((answer.status === 200 || answer.status === 201) && body?.id === (entry.repeats ?? entry.id)) {
      await this.#change((store) => store.delete(entry.id));
      this.entries = this.entries.filter((one) => one.id !== entry.id);
      this.told(entry, body);
      return true;
    }
    if (answer.status === 401 || answer.status === 403) {
      this.state = "sign-in";
      return false;
    }
    if ([404, 409, 422].includes(answer.status) && body?.problems) {
      const asks = body.problems.some((one) => one.slug === "doubtful_reading");
      await this.#write(Object.assign(entry, {
        state: asks ? "doubtful" : "person",
        problems: body.problems,
        setAside: body.set_aside === true,
      }));
      this.told();
      return true;
    }
    this.state = "no-server";
    return false;
  }

  #packed(entry) {
    const headers = { "X-CSRFToken": token(), Accept: "application/json" };
    if (!entry.file) return { body: JSON.stringify(entry.body), headers: { ...headers, "Content-Type": "application/json" } };
    const form = new FormData();
    for (const [name, value] of Object.entries(entry.body)) form.append(name, value);
    form.append("file", entry.file, "photo.jpg");
    return { body: form, headers };
  }

  #next() {
    return Math.max(0, ...this.entries.map((one) => one.number)) + 1;
  }

  #write(entry) {
    return this.#change((store) => store.put(entry));
  }

  #change(work) {
    return new Promise((resolve, reject) => {
      const act = this.store.transaction(STORE, "readwrite", { durability: "strict" });
      work(act.objectStore(STORE));
      act.oncomplete = () => resolve();
      act.onerror = () => reject(act.error);
      act.onabort = () => reject(act.error);
    });
  }

  #all() {
    return new Promise((resolve, reject) => {
      const asked = this.store.transaction(STORE).objectStore(STORE).getAll();
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
  }
}
