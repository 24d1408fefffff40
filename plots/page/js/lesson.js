// A lesson: the author's steps, each at a moment and about a part, some with a question.
import { el, say } from './dom.js';
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
    this.play = el('button', { type: 'button' }, 'Play up to here');
    this.back.addEventListener('click', () => this.turn(this.at - 1));
    this.next.addEventListener('click', () => this.turn(this.at + 1));
    this.play.addEventListener('click', () => {
      const from = this.at > 0 ? this.moment(this.at - 1) : 0;
      this.go.jump(Math.min(from ?? 0, this.moment(this.at)), this.step.part);
      this.go.playTo(this.moment(this.at));
    });
    this.words = el('div', { 'aria-live': 'polite' }, this.place, this.text, this.question);
    parent.append(this.heading, this.words, this.hidden, el('div', { class: 'buttons' }, this.back, this.next, this.play));
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
    const t = this.moment(this.at);
    if (t !== null) this.go.jump(t, this.step.part);
  }

  show() {
    if (!this.run.lesson.length) return;
    const { step } = this;
    const t = this.moment(this.at);
    say(this.heading, `Lesson, step ${this.at + 1} of ${this.run.lesson.length}`);
    say(this.place, t === null ? `${plain(step.part)}: what this step is about does not happen in this run.` : `${plain(step.part)}, at ${t.toFixed(3)} s`);
    say(this.text, step.say);
    say(this.question, step.ask);
    say(this.answer, step.answer);
    this.hidden.open = false;
    this.hidden.hidden = step.ask === '';
    this.back.disabled = this.at === 0;
    this.next.disabled = this.at === this.run.lesson.length - 1;
    this.play.disabled = t === null;
  }
}
