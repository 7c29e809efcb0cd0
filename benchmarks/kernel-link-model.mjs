// Model "link-1": a sender on a wire of 1 GB/s (1 byte a tick of 1 ns), packets of 128 B + 20 B, 32
// header and 256 data credits of 16 B, 50 ns of wire each way. Credits come back `creditDelay`
// after arrival; every fourth arrival is acknowledged by 8 B on the reverse wire. Four kinds of
// event: wire free, arrival, credit return, acknowledgement; every one goes through the engine.
//
// The engine is a kernel, or a peer that looks like one: now, register, schedule, scheduleAfter,
// delayLine. The test of the kernel runs the same model and checks the stated figures.

const wireDelay = 50;
const overhead = 20;
const ackBytes = 8;
const credits = { headers: 32, data: 256, unit: 16 };

/** Of a million packets: sum over arrivals of (time mod 1 000 003), and time of the last event. */
export const stated = {
  500: { arrivals: 500_000_500_291, last: 148_000_550 },
  6000: { arrivals: 499_440_969_761, last: 193_692_088 },
};

/** The remainder by a quotient: `%` of doubles is a call of the C library in V8. */
const residue = (time) => time - Math.floor(time / 1_000_003) * 1_000_003;

/**
 * Links of packets of one size, every delay constant. With a list of credit delays each link has
 * its own. Returns totals that grow while the engine runs.
 */
export function constantLinks(engine, { links, packets, creditDelay, payload = 128 }) {
  const wire = payload + overhead;
  const dataCredits = payload / credits.unit;
  const left = new Int32Array(links).fill(packets);
  const headers = new Int32Array(links).fill(credits.headers);
  const data = new Int32Array(links).fill(credits.data);
  const arrived = new Int32Array(links);
  const busy = new Uint8Array(links);
  const totals = { arrivals: 0, count: 0, acknowledged: 0 };
  const delays = typeof creditDelay === 'number' ? [creditDelay] : creditDelay;

  const sending = engine.delayLine(wire);
  const flight = engine.delayLine(wire + wireDelay);
  const reverse = engine.delayLine(ackBytes + wireDelay);
  const returning = Array.from({ length: links }, (_, i) =>
    engine.delayLine(delays[i % delays.length]),
  );
  const send = (link) => {
    if (busy[link] || left[link] === 0) return;
    if (headers[link] < 1 || data[link] < dataCredits) return;
    busy[link] = 1;
    left[link]--;
    headers[link]--;
    data[link] -= dataCredits;
    sending.send(wireFree, link);
    flight.send(arrival, link);
  };
  const wireFree = engine.register((link) => {
    busy[link] = 0;
    send(link);
  });
  const arrival = engine.register((link) => {
    totals.arrivals += residue(engine.now);
    totals.count++;
    returning[link].send(creditReturn, link);
    if ((++arrived[link] & 3) === 0) reverse.send(acknowledgement, link);
  });
  const creditReturn = engine.register((link) => {
    headers[link]++;
    data[link] += dataCredits;
    send(link);
  });
  const acknowledgement = engine.register(() => {
    totals.acknowledged += 4;
  });
  const start = engine.register(send);
  for (let link = 0; link < links; link++) engine.schedule(0, start, link);
  return totals;
}

/**
 * The same with payloads drawn from 16 to 128 B, up to 200 ns more on the way, and credits back
 * after a time evenly spread from half to one and a half times `creditDelay`. `random` draws whole
 * numbers: integer(low, high).
 */
export function mixedLinks(engine, random, { links, packets, creditDelay }) {
  const left = new Int32Array(links).fill(packets);
  const headers = new Int32Array(links).fill(credits.headers);
  const data = new Int32Array(links).fill(credits.data);
  // Data credits of the next packet.
  const next = new Int32Array(links).map(() => 1 << random.integer(0, 3));
  const arrived = new Int32Array(links);
  const busy = new Uint8Array(links);
  const totals = { arrivals: 0, count: 0, acknowledged: 0, headers, data };
  const reverse = engine.delayLine(ackBytes + wireDelay);
  const low = creditDelay >> 1;

  const send = (link) => {
    const units = next[link];
    if (busy[link] || left[link] === 0 || headers[link] < 1 || data[link] < units) return;
    busy[link] = 1;
    left[link]--;
    headers[link]--;
    data[link] -= units;
    const wire = credits.unit * units + overhead;
    engine.scheduleAfter(wire, wireFree, link);
    // The argument carries the link and, in its low four bits, the packet's data credits.
    engine.scheduleAfter(wire + wireDelay + random.integer(0, 200), arrival, link * 16 + units);
    next[link] = 1 << random.integer(0, 3);
  };
  const wireFree = engine.register((link) => {
    busy[link] = 0;
    send(link);
  });
  const arrival = engine.register((packet) => {
    const link = packet >> 4;
    totals.arrivals += residue(engine.now);
    totals.count++;
    engine.scheduleAfter(random.integer(low, low + creditDelay), creditReturn, packet);
    if ((++arrived[link] & 3) === 0) reverse.send(acknowledgement, link);
  });
  const creditReturn = engine.register((packet) => {
    const link = packet >> 4;
    headers[link]++;
    data[link] += packet & 15;
    send(link);
  });
  const acknowledgement = engine.register(() => {
    totals.acknowledged += 4;
  });
  const start = engine.register(send);
  for (let link = 0; link < links; link++) engine.schedule(0, start, link);
  return totals;
}
