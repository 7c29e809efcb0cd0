// A general-purpose simulator of npm (simjs) as a peer. Its bundle exports to a browser's window
// only.
const here = globalThis;
here.window ??= here;
await import('simjs');
const { Entity, Sim } = here.window.Sim;

export class EntityLoop {
  sim = new Sim();
  handlers = [];

  constructor() {
    // An entity exists inside one simulation, which calls its start().
    class Model extends Entity {
      start() {}
    }
    this.entity = this.sim.addEntity(Model);
  }

  get now() {
    return this.sim.time();
  }

  register(handler) {
    return this.handlers.push(handler) - 1;
  }

  schedule(time, kind, argument) {
    this.scheduleAfter(time - this.now, kind, argument);
  }

  scheduleAfter(delay, kind, argument) {
    // An argument of 0 would be taken for none, so it goes in a list.
    this.entity.setTimer(delay).done(this.handlers[kind], this.entity, [argument]);
  }

  delayLine(delay) {
    return { send: (kind, argument) => this.scheduleAfter(delay, kind, argument) };
  }

  run() {
    this.sim.simulate(Number.MAX_SAFE_INTEGER, Number.MAX_SAFE_INTEGER);
  }
}
