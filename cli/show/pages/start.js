// A set-up by question and answer: the program behind the page asks, this shows it. The answers stand in the
// address, so that reload and the browser's own Back keep them.

const part = (id) => document.getElementById(id);

class Start {
  constructor(first) {
    this.folder = first.folder;
    this.former = [];
    this.wrong = "";
    this.read();
    part("examples").append(...first.names.map((name) => this.line("li", this.link(name))));
    part("form").addEventListener("submit", (event) => { event.preventDefault(); this.give(part("typed").value); });
    part("usual").addEventListener("click", () => this.give(""));
    for (const id of ["back", "again"]) part(id).addEventListener("click", () => this.return(this.typed.length - 1));
    part("begin").addEventListener("click", () => this.begin());
    part("units").addEventListener("change", (event) => { this.units = event.target.value; this.keep(); this.ask(); });
    addEventListener("popstate", () => { this.read(); this.ask({ focus: true }); });
    this.ask();
  }

  line(tag, ...inside) {
    const one = document.createElement(tag);
    one.append(...inside);
    return one;
  }

  link(name) {
    const one = this.line("a", name.replaceAll("_", " "));
    one.href = `/?${new URLSearchParams({ source: name })}`;
    return one;
  }

  read() {
    const said = new URLSearchParams(location.search);
    this.typed = said.getAll("a");
    this.units = said.get("units") === "inch" ? "inch" : "mm";
  }

  keep() {
    const said = new URLSearchParams(this.typed.map((one) => ["a", one]));
    if (this.units === "inch") said.set("units", "inch");
    const address = `${location.pathname}${said.size ? `?${said}` : ""}`;
    if (address !== location.pathname + location.search) history.pushState(null, "", address);
  }

  post(address, more) {
    return fetch(address, { method: "POST", body: JSON.stringify({ typed: this.typed, units: this.units, ...more }),
      headers: { "content-type": "application/json", "x-stickout": "page" } });
  }

  // Sends what was typed; where it cannot be taken, the same question stays and says why.
  async give(answer) {
    if (this.busy) return;
    const before = this.typed;
    this.typed = [...before, answer.trim()];
    const told = await this.told("/next", { wrong: this.wrong });
    if (!told || told.message) {
      this.typed = before;
      this.wrong = told ? answer.trim() : "";
      if (told) this.say(told.message);
      part("typed").focus();
      return;
    }
    this.wrong = "";
    this.former[before.length] = answer.trim();
    this.keep();
    this.show(told, { focus: true });
  }

  return(at) {
    this.typed = this.typed.slice(0, Math.max(at, 0));
    this.wrong = "";
    this.keep();
    this.ask({ focus: true });
  }

  async ask({ focus = false } = {}) {
    const told = await this.told("/next", {});
    if (!told) return;
    this.typed = this.typed.slice(0, told.before.length);
    this.show(told, { focus });
  }

  async told(address, more) {
    this.busy = true;
    try {
      const reply = await this.post(address, more), told = await reply.json();
      if (told.mistakes) throw new Error(told.mistakes.join(" "));
      this.say("");
      return told;
    } catch (trouble) {
      const lost = trouble instanceof TypeError || trouble instanceof SyntaxError;
      this.say(lost ? "The program behind this page does not answer. Start it again; the answers stand in the address." : trouble.message);
      return null;
    } finally {
      this.busy = false;
    }
  }

  say(words) {
    part("message").textContent = words;
    part("message").hidden = !words;
  }

  show(told, { focus }) {
    part("before").replaceChildren(...told.before.map((one, at) => this.line("li", this.change(one, at))));
    part("none").hidden = told.before.length > 0;
    if (told.message) this.say(told.message);
    const asked = told.question;
    part("form").hidden = !asked;
    part("end").hidden = Boolean(asked);
    if (asked) this.question(asked, told);
    else this.ended(told);
    if (focus && asked && !asked.choices.length) part("typed").focus();
    else if (focus) part("words").focus();
  }

  change(one, at) {
    const button = this.line("button", this.line("small", one.words), this.line("b", one.said + (one.usual ? ", as usual" : "")));
    button.type = "button";
    button.addEventListener("click", () => this.return(at));
    return button;
  }

  question(asked, told) {
    const chosen = asked.choices.length > 0, at = told.before.length;
    part("number").textContent = `Question ${asked.number} of ${asked.kind === "p" ? 9 : 10}`;
    part("words").textContent = asked.words;
    part("explain").textContent = asked.explain;
    part("units").hidden = at > 1 || chosen;
    for (const one of part("units").querySelectorAll("input")) one.checked = one.value === told.units;
    part("back").hidden = at === 0;
    part("choices").replaceChildren(...asked.choices.map((one) => this.choice(asked, one)));
    part("choices").hidden = !chosen;
    part("field").hidden = chosen;
    part("typed").value = this.former[at] ?? "";
    const offers = asked.offers.length ? ` (${asked.offers.join(", ")})` : "";
    part("label").textContent = `Your answer${offers}`;
    part("usual").textContent = `Take the usual: ${asked.usual}`;
    part("sketch").replaceChildren(...this.drawing(`${asked.key}-${asked.kind}`, asked.key));
  }

  choice(asked, one) {
    const button = this.line("button", ...this.drawing(`${asked.key}-${one.letter}-${asked.kind}`, `${asked.key}-${one.letter}`),
      this.line("span", one.name));
    if (one.letter === asked.usual) button.append(this.line("small", "the usual one"));
    button.type = "button";
    button.dataset.letter = one.letter;
    button.addEventListener("click", () => this.give(one.letter));
    return button;
  }

  // The first of the drawings that there is.
  drawing(...names) {
    const found = names.map((name) => part(`draw-${name}`)).find(Boolean);
    return found ? [found.content.cloneNode(true)] : [];
  }

  ended(told) {
    part("number").textContent = "That is all";
    part("words").textContent = told.title;
    part("end-words").textContent = `It will be saved as ${told.name} in ${this.folder}, beside whatever is there. `
      + `${told.usual} numbers were not asked: they are taken as usual for this size, and the answer says so.`;
  }

  async begin() {
    if (this.busy) return;
    part("begin").disabled = true;
    const told = await this.told("/begin", {});
    if (told) location.assign(`/?${new URLSearchParams({ source: told.source })}`);
    else part("begin").disabled = false;
  }
}
