// What of a packet's cost is not the event queue's: each variant of model "link-1" is run once on
// the kernel, its events and their order are noted, and then played back with a queue that keeps
// nothing. Left are the model, its random draws and one call an event. Usage: mixed for random
// delays.
import { Kernel, RandomStream } from '../dist/kernel/index.js';
import { firstGenerator } from '../dist/kernel/random.js';
import { constantLinks, mixedLinks } from './kernel-link-model.mjs';
import { machine, row } from './machine.mjs';

const million = 1_000_000;
const mostEvents = 4 * million;

/** A kernel that notes kind, argument and time of each event. */
class Notes {
  kinds = new Uint8Array(mostEvents);
  arguments = new Int32Array(mostEvents);
  times = new Float64Array(mostEvents);
  count = 0;
  kernel = new Kernel({ seed: 1 });

  get now() {
    return this.kernel.now;
  }

  register(handler) {
    const kind = this.kernel.register((argument) => {
      this.kinds[this.count] = kind;
      this.arguments[this.count] = argument;
      this.times[this.count++] = this.kernel.now;
      handler(argument);
    });
    return kind;
  }

  schedule(...event) {
    this.kernel.schedule(...event);
  }

  scheduleAfter(...event) {
    this.kernel.scheduleAfter(...event);
  }

  delayLine(delay) {
    return this.kernel.delayLine(delay);
  }
}

/** Plays notes back; what is scheduled only adds to a sum, so that it is not left out. */
class Playback {
  now = 0;
  sum = 0;
  handlers = [];

  register(handler) {
    return this.handlers.push(handler) - 1;
  }

  schedule(time, kind, argument) {
    this.sum = (this.sum + time + kind + argument) | 0;
  }

  scheduleAfter(delay, kind, argument) {
    this.sum = (this.sum + delay + kind + argument) | 0;
  }

  delayLine(delay) {
    return { send: (kind, argument) => this.scheduleAfter(delay, kind, argument) };
  }

  run(notes) {
    const { kinds, arguments: values, times, count } = notes;
    for (let i = 0; i < count; i++) {
      this.now = times[i];
      const handler = this.handlers[kinds[i]];
      handler(values[i]);
    }
  }
}

console.log(machine());
const mixed = process.argv[2] === 'mixed';
for (const links of [1, 64]) {
  const size = { links, packets: Math.floor(million / links), creditDelay: mixed ? 2000 : 500 };
  const build = (engine) =>
    mixed
      ? mixedLinks(engine, new RandomStream(firstGenerator(7)), size)
      : constantLinks(engine, size);
  const notes = new Notes();
  const expected = build(notes);
  notes.kernel.run();
  let best = Infinity;
  for (let round = 0; round < 7; round++) {
    const playback = new Playback();
    const totals = build(playback);
    const start = process.cpuUsage();
    playback.run(notes);
    const { user, system } = process.cpuUsage(start);
    best = Math.min(best, (user + system) / 1e6);
    if (totals.arrivals !== expected.arrivals) throw new Error('the playback went another way');
  }
  const name = `${links === 1 ? 'one link' : `${links} links`}, ${mixed ? 'mixed' : 'constant'}`;
  row(`${name}, no queue`, (links * size.packets) / best, 'packets/s');
}
