// A bare event loop on an npm heap (flatqueue), as a peer: no order among equal times, no checks,
// no cancelling, no checkpoints, doubles for time.
import FlatQueue from 'flatqueue';

const argumentRange = 2 ** 24;

export class HeapLoop {
  now = 0;
  queue = new FlatQueue();
  handlers = [];

  register(handler) {
    return this.handlers.push(handler) - 1;
  }

  schedule(time, kind, argument) {
    this.queue.push(kind * argumentRange + argument, time);
  }

  scheduleAfter(delay, kind, argument) {
    this.queue.push(kind * argumentRange + argument, this.now + delay);
  }

  delayLine(delay) {
    return { send: (kind, argument) => this.scheduleAfter(delay, kind, argument) };
  }

  run() {
    const { queue, handlers } = this;
    for (;;) {
      const time = queue.peekValue();
      if (time === undefined) return;
      this.now = time;
      const event = queue.pop();
      const handler = handlers[event >> 24];
      handler(event & (argumentRange - 1));
    }
  }
}
