// Colours. Pressure: viridis, even in lightness and made for colour-blind readers (S. van der Walt
// and N. Smith, "A better default colormap for matplotlib", 2015, CC0), nine of its values with
// straight lines between. Curves: M. Okabe and K. Ito, "Color Universal Design" (2002, revised
// 2008), without the yellow.

const viridis = [
  [68, 1, 84], [71, 44, 122], [59, 81, 139], [44, 113, 142], [33, 144, 141],
  [39, 173, 129], [92, 200, 99], [170, 220, 50], [253, 231, 37],
];

function mixed(share) {
  const place = Math.min(1, Math.max(0, share)) * (viridis.length - 1);
  const i = Math.min(viridis.length - 2, Math.floor(place));
  const rest = place - i;
  const rgb = viridis[i].map((low, k) => Math.round(low + rest * (viridis[i + 1][k] - low)));
  return `rgb(${rgb.join(' ')})`;
}

const steps = 256;
const table = Array.from({ length: steps + 1 }, (_, i) => mixed(i / steps));

/** Colour of a share from 0 to 1 of the largest pressure that the scale shows. */
export function pressureColour(share) {
  return table[Math.round(Math.min(1, Math.max(0, share)) * steps)];
}

const light = ['#0072B2', '#D55E00', '#009E73', '#B0548A', '#9A6700', '#80806A', '#333333'];
const dark = ['#56B4E9', '#F0803C', '#2CC79A', '#E29CC4', '#E6A820', '#9AD3F5', '#dddddd'];

/** Colour and dash of curve i: colours first, then the same dashed. */
export function curve(i) {
  const list = isDark() ? dark : light;
  const round = Math.floor(i / list.length);
  return { colour: list[i % list.length], dash: [[], [8, 4], [2, 4]][round % 3] };
}

const darkness = matchMedia('(prefers-color-scheme: dark)');
let paper = false; // what is drawn now is to be printed
export function onPaper(is) {
  paper = is;
}
export function isOnPaper() {
  return paper;
}
export function isDark() {
  return darkness.matches && !paper;
}
export function onColourChange(then) {
  darkness.addEventListener('change', then);
}
