// A lesson: the author's steps, each at a moment and about a part, some with a question.
import { el, say, put } from './dom.js';
import { plain } from './data.js';

export class Lesson {
  /** `go`: { jump(t, part), playTo(t) }. */
  constructor(parent, run, go) {
    this.run = run;
    this.go = go;
    this.at = 0;
    this.parent = parent;
    if (!run.lesson.length) return;
    parent.hidden = false;
    this.heading = el('h2', { tabindex: '-1' });
    this.place = el('p', { class: 'hint' });
    this.text = el('p', { class: 'say' });
    this.question = el('p', { class: 'ask' });
    this.answer = el('p');
    this.hidden = el('details', {}, el('summary', {}, 'Answer'), this.answer);
    this.back = el('button', { type: 'button' }, 'Step back');
    this.next = el('button', { type: 'button' }, 'Next step');
    this.here = el('button', { type: 'button' }, 'Go to this moment');
    this.play = el('button', { type: 'button' }, 'Play up to here');
    // A button that leads nowhere stays a button: disabled, it would drop the focus of who has just pressed it.
    const press = (button, act) => button.addEventListener('click', () => button.getAttribute('aria-disabled') === 'true' || act());
    press(this.back, () => this.turn(this.at - 1));
    press(this.next, () => this.turn(this.at + 1));
    press(this.here, () => this.stand());
    press(this.play, () => {
      const from = this.at > 0 ? this.moment(this.at - 1) : 0;
      this.go.jump(Math.min(from ?? 0, this.moment(this.at)), this.step.part);
      this.go.playTo(this.moment(this.at));
    });
    this.words = el('div', { 'aria-live': 'polite' }, this.place, this.text, this.question);
    this.now = el('div', { class: 'now' }, this.heading, this.words, this.hidden, el('div', { class: 'buttons' }, this.back, this.next, this.here, this.play));
    parent.append(this.now, this.onPaper());
  }

  /** All steps, for print. */
  onPaper() {
    return el('div', { class: 'printed' }, el('h2', {}, 'Lesson'), el('ol', {}, ...this.run.lesson.map((step, i) =>
      el('li', {}, el('strong', {}, this.placeOf(i)), ` ${step.say}`, step.ask ? el('div', { class: 'ask' }, `Question: ${step.ask}`) : null,
        step.answer ? el('div', {}, `Answer: ${step.answer}`) : null))));
  }

  placeOf(i) {
    const t = this.moment(i);
    const part = plain(this.run.lesson[i].part);
    return t === null ? `${part}: what this step is about does not happen in this run.` : `${part}, at ${t.toFixed(3)} s`;
  }

  get step() {
    return this.run.lesson[this.at];
  }

  /** Where the page stands for a step: behind its event; null if the event does not come. */
  moment(i) {
    const step = this.run.lesson[i];
    return step.time !== null && step.at_event ? this.run.time[this.run.rowAfter(step.time)] : step.time;
  }

  turn(to) {
    this.at = Math.min(this.run.lesson.length - 1, Math.max(0, to));
    this.show();
    this.parent.scrollIntoView(); // text and drawing then stand on one screen
    this.stand();
  }

  /** The page goes to the moment that the step is about. */
  stand() {
    if (!this.run.lesson.length) return;
    const t = this.moment(this.at);
    if (t !== null) this.go.jump(t, this.step.part);
  }

  show() {
    if (!this.run.lesson.length) return;
    const { step } = this;
    const t = this.moment(this.at);
    say(this.heading, `Lesson, step ${this.at + 1} of ${this.run.lesson.length}`);
    say(this.place, this.placeOf(this.at));
    say(this.text, step.say);
    say(this.question, step.ask);
    say(this.answer, step.answer);
    this.hidden.open = false;
    this.hidden.hidden = step.ask === '';
    put(this.back, 'aria-disabled', this.at === 0);
    put(this.next, 'aria-disabled', this.at === this.run.lesson.length - 1);
    for (const button of [this.here, this.play]) put(button, 'aria-disabled', t === null);
  }
}
