// What a part is doing, in words.
import { residualMode, holdOffWords, proportioningWords } from './draw_valves.js';
import { touchingPad } from './draw_wheels.js';

const byKind = {
  pedal: (run, part, row) => (run.si(part.name, 'travel', row) > 5e-4 ? 'The pedal is pressed.' : 'The pedal is at rest.'),

  booster(run, part, row) {
    const assist = run.si(part.name, 'assist', row);
    return assist > 100 ? 'Air has come in behind the diaphragm: it helps.' : 'Both chambers are at the same vacuum: it does not help.';
  },

  tandem_master(run, part, row) {
    const f = part.fields;
    const shut = (name, travel) => `${name} port ${run.si(part.name, `${name}_travel`, row) >= travel ? 'shut' : 'open'}`;
    const apart = run.si(part.name, 'primary_travel', row) - run.si(part.name, 'secondary_travel', row) < f.primary_stroke * 0.999;
    const bottom = run.si(part.name, 'secondary_travel', row) > f.secondary_stroke * 0.999;
    return `${shut('primary', f.port_travel)}, ${shut('secondary', f.secondary_port_travel ?? f.port_travel)}; ` +
      `${apart ? 'fluid stands between the pistons' : 'the pistons have met'}${bottom ? '; the secondary piston is at the end of the bore' : ''}.`;
  },

  residual_valve(run, part, row) {
    if (part.fields.fitted === 'no') return 'No valve is fitted here: a plain passage.';
    return {
      out: 'Fluid passes its lip outward.',
      back: 'It has lifted off its seat and lets fluid back.',
      shut: 'It is shut and keeps what pressure the line has.',
    }[residualMode(run, part, row)];
  },

  pressure_switch(run, part, row) {
    const at = run.si(part.name, 'position', row);
    const closed = run.si(part.name, 'contact', row) > 0.5;
    const side = Math.abs(at) < 0.1 * part.fields.contact_travel ? 'The piston is in the middle'
      : `The piston has gone toward the ${at > 0 ? 'second' : 'first'} circuit, which is lower`;
    return `${side}; the contact is ${closed ? 'closed' : 'open'}.`;
  },

  hold_off_valve: (run, part, row) => `It stands so: ${holdOffWords(run, part, row)}.`,
  proportioning_valve: (run, part, row) => `It stands so: ${proportioningWords(run, part, row)}.`,
  line: (run, part, row) => flowing(run.si(part.name, 'flow', row)),
  hose: (run, part, row) => flowing(run.si(part.name, 'flow', row)),

  disc_caliper(run, part, row) {
    const alone = touchingPad(run, part.name, row);
    if (alone) return `The ${alone} pad presses on the disc, the other one stands ${run.channel(`${part.name}.clearance`).now(row)} clear of it.`;
    return run.si(part.name, 'clearance', row) > 1e-7 ? 'The pads stand clear of the disc.'
      : run.si(part.name, 'clamp', row) > 0 ? 'The pads press on the disc.' : 'The pads touch the disc.';
  },

  drum_brake: (run, part, row) => (run.si(part.name, 'clearance', row) > 1e-7 ? 'The shoes stand clear of the drum.' : 'The shoes press on the drum.'),

  bleeder(run, part, row) {
    const flow = run.si(part.name, 'flow', row);
    if (run.drawsAir(part, row)) return 'The screw is open and draws air.';
    if (Math.abs(flow) < 1e-8) return part.fields.opening > 0 ? 'The screw is open, and nothing passes it.' : 'The screw is shut.';
    return flow > 0 ? 'The screw is open and fluid leaves.' : 'The screw draws back what its hose ends in.';
  },

  leak(run, part, row) {
    const flow = run.si(part.name, 'flow', row);
    if (run.drawsAir(part, row)) return 'Air is drawn in here.';
    return flow < 1e-9 ? 'Nothing leaks now.' : 'Fluid is lost here.';
  },

  warning_lamp: (run, part, row) => (run.si(part.name, 'lit', row) > 0.5 ? 'The lamp is lit.' : 'The lamp is dark.'),
};

function flowing(flow) {
  if (Math.abs(flow) < 5e-8) return 'The fluid stands.';
  return flow > 0 ? 'Fluid runs toward the wheel.' : 'Fluid runs back to the cylinder.';
}

export function modeOf(run, part, row) {
  const words = byKind[part.like] ?? byKind[part.kind];
  const text = words ? words(run, part, row) : '';
  return text.charAt(0).toUpperCase() + text.slice(1);
}
