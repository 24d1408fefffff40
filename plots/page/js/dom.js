// Small tools for elements.

const svgSpace = 'http://www.w3.org/2000/svg';

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) if (value !== null) element.setAttribute(name, value);
  element.append(...children.filter((child) => child !== null));
  return element;
}

/** An HTML element. */
export function el(name, attributes = {}, ...children) {
  return fill(document.createElement(name), attributes, children);
}

/** An SVG element. */
export function svg(name, attributes = {}, ...children) {
  return fill(document.createElementNS(svgSpace, name), attributes, children);
}

/** Room for a table that may be wider than the screen, which then says so. */
export function wide(label, table) {
  const room = el('div', { class: 'wide', tabindex: '0', role: 'region', 'aria-label': label }, table);
  const line = el('p', { class: 'hint sideways', hidden: '' }, 'The table goes on sideways.');
  new ResizeObserver(() => {
    line.hidden = room.scrollWidth <= room.clientWidth + 1;
  }).observe(room);
  return el('div', {}, line, room);
}

/** Sets an attribute only where it changes: most of a frame's work is left out so. */
export function put(element, name, value) {
  const text = String(value);
  const known = (element.known ??= {});
  if (known[name] === text) return;
  known[name] = text;
  element.setAttribute(name, text);
}

/** The same for the text of an element. */
export function say(element, text) {
  if (element.said === text) return;
  element.said = text;
  element.textContent = text;
}

/** Moves a piece of the drawing. */
export function shift(element, x, y = 0) {
  put(element, 'transform', `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
}

let ruler = null;

/** How wide a text of the drawing is [px], known before it stands on the page. */
export function textWidth(text, size, weight = 400) {
  ruler ??= document.createElement('canvas').getContext('2d');
  ruler.font = `${weight} ${size}px system-ui, sans-serif`;
  return ruler.measureText(text).width;
}

/** A text in lines of that width [px], two at most; what is longer is cut. */
export function inLines(text, size, width) {
  const fits = (line) => textWidth(line, size) <= width;
  const lines = [];
  for (const word of text.split(' ')) {
    const longer = `${lines.at(-1)} ${word}`;
    if (lines.length && (lines.length === 2 || fits(longer))) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines.map((line) => {
    let shown = line;
    for (let n = line.length - 1; n > 0 && !fits(shown); n--) shown = `${line.slice(0, n).trimEnd()}…`;
    return shown;
  });
}
