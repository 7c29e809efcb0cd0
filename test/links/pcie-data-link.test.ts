/**
 * Acks, Naks, replay buffer and timers of a link without flits, against what PCI Express Base
 * Specification 6.3 §3.6.2 and §3.6.3 say of each. Errors are put in by hand.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel } from '../../src/kernel/index.ts';
import type { PcieConfig, ReplayRules } from '../../src/links/pcie/config.ts';
import { ReplayBuffer } from '../../src/links/pcie/events/replay-buffer.ts';
import { link, many, receiver } from './pcie-link.ts';
import { Rig } from './pcie-rig.ts';

/** 2.5 GT/s x4: 10 ticks a byte, 148 B a packet, 8 B an Ack; no set of clock compensation for long. */
const packetTicks = 1480;
const ackTicks = 80;
const updateTicks = 80;
const rules: ReplayRules = {
  packets: 2047,
  bytes: 1_000_000,
  timerTicks: 100_000,
  ackTicks: 5000,
  nakTicks: 700,
};

function config(over: Partial<ReplayRules> = {}, packetsPerAck = 1): PcieConfig {
  const end = { ...receiver, packetsPerAck };
  return link({
    width: 4,
    skpInterval: 10_000_000,
    rootSide: end,
    moduleSide: end,
    replay: { ...rules, ...over },
  });
}

const zeros = (count: number) => new Array<number>(count).fill(0);
const numbers = (count: number) => Array.from({ length: count }, (_, i) => i);

describe('delivery', () => {
  it('is of every packet once and in order whatever is hit, and every tick is accounted for', () => {
    const pattern = fc.array(
      fc.nat(9).map((n) => n < 3),
      { maxLength: 400 },
    );
    const any = fc.record({
      up: pattern,
      down: pattern,
      packets: fc.integer({ min: 1, max: 120 }),
      back: fc.integer({ min: 0, max: 60 }),
      spacing: fc.constantFrom(0, 300, 1480, 4000),
      packetsPerAck: fc.integer({ min: 1, max: 5 }),
      kept: fc.constantFrom(1, 2, 3, 7, 2047),
      timerTicks: fc.constantFrom(9000, 20_000),
      nakTicks: fc.constantFrom(0, 700, 8000),
    });
    fc.assert(
      fc.property(any, ({ up, down, packets, back, spacing, packetsPerAck, kept, ...over }) => {
        const rig = new Rig({
          config: config({ packets: kept, ...over }, packetsPerAck),
          wanted: {
            up: numbers(packets).map((i) => i * spacing),
            down: numbers(back).map((i) => i * spacing),
          },
          payloadBytes: [128, 64, 4],
          hit: { up, down },
        });
        const end = 60_000_000;
        rig.kernel.runUntil(end);
        expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(packets));
        expect(rig.delivered.down.map(({ number }) => number)).toEqual(numbers(back));
        // Acks that are late come by their timer, so nothing is kept in the end.
        expect([rig.up.unacknowledged, rig.down.unacknowledged]).toEqual([0, 0]);
        for (const direction of ['up', 'down'] as const) {
          const { total, payload } = rig.ledger(direction);
          expect(total).toBe(end);
          const { delivered } = rig;
          const bytes = delivered[direction].reduce((b, _, i) => b + [128, 64, 4][i % 3]!, 0);
          expect(payload ?? 0).toBe(bytes * 8);
        }
      }),
      { numRuns: 300 },
    );
  });

  it('goes on past the end of the 12-bit sequence numbers', () => {
    const hit = numbers(30_000).map((i) => i % 97 === 50);
    const rig = new Rig({ config: config(), wanted: { up: zeros(9000) }, hit: { up: hit } });
    rig.kernel.runUntil(40_000_000);
    expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(9000));
    expect(rig.replays('up').naks).toBeGreaterThan(90);
  });

  it('stays in order when the window of 2047 packets is full and its packets come again', () => {
    // No Ack comes for long; the timer repeats all of the window, half of it old at the receiver.
    const over = { ackTicks: 10_000_000, timerTicks: 3000 * packetTicks };
    const hit = numbers(1000).map((i) => i === 900);
    const rig = new Rig({
      config: config({ ...over, nakTicks: 20_000_000 }, 4000),
      wanted: { up: zeros(2500) },
      hit: { up: hit },
    });
    rig.kernel.runUntil(60_000_000);
    expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(2500));
    expect(rig.up.peaks().unacknowledged).toBe(2047);
  });
});

describe('a packet that is hit', () => {
  // Packet 1 of 10 ends at 2960; its Nak is ready 700 later, has passed 80 after that, and waits for the
  // end of packet 2 at 4440. What started in between comes again, in order.
  it('is sent again with all that followed it, behind the packet on the wire when its Nak comes', () => {
    const rig = new Rig({
      config: config(),
      wanted: { up: zeros(10) },
      hit: { up: [false, true] },
    });
    rig.kernel.runUntil(200_000);
    const vain = 2 * packetTicks;
    expect(rig.delivered.up.map(({ time }) => time)).toEqual(
      numbers(10).map((i) => (i + 1) * packetTicks + (i === 0 ? 0 : vain)),
    );
    expect(rig.ledger('up').replay).toBe(vain);
    expect(rig.replays('up')).toMatchObject({ errors: 1, naks: 1, timeouts: 0, discarded: 2 });
  });

  it('is asked for by one Nak, however many packets out of order follow it', () => {
    const rig = new Rig({
      config: config({ nakTicks: 20 * packetTicks }),
      wanted: { up: zeros(40) },
      hit: { up: [true] },
    });
    rig.kernel.runUntil(400_000);
    expect(rig.replays('up')).toMatchObject({ naks: 1, timeouts: 0, discarded: 22 });
    // One Nak, and an Ack for each of the packets taken.
    expect(rig.ledger('down').acknowledgements! / 8).toBe(8 * 41);
  });

  // NAK_SCHEDULED is set until a packet is taken, so nothing asks a second time (§3.6.3.1).
  it('waits for the timer when it is hit again', () => {
    const rig = new Rig({
      config: config(),
      wanted: { up: zeros(10) },
      // Packets 0, 1 and 2 pass before the first Nak has come; then 1 again.
      hit: { up: [false, true, false, true] },
    });
    rig.kernel.runUntil(200_000);
    expect(rig.delivered.up.map(({ number }) => number)).toEqual(numbers(10));
    expect(rig.replays('up')).toMatchObject({ naks: 1, timeouts: 1 });
  });

  it('acknowledges with its Nak what came before it', () => {
    const rig = new Rig({
      config: config({ packets: 4 }, 8),
      wanted: { up: zeros(4) },
      hit: { up: [false, false, false, true] },
    });
    rig.kernel.runUntil(5 * packetTicks);
    // Three taken, none acknowledged by count: the Nak does it, and only the fourth comes again.
    expect(rig.up.unacknowledged).toBe(1);
    rig.kernel.runUntil(200_000);
    expect(rig.replays('up')).toMatchObject({ naks: 1, discarded: 1 });
    expect(rig.ledger('up').replay).toBe(packetTicks + rules.nakTicks + ackTicks);
  });
});

describe('a credit update that is hit', () => {
  const end = {
    ...receiver,
    postedHeaders: 2,
    // A little after the update that tells of them has passed.
    creditReturnTicks: updateTicks + 20,
    packetsPerAck: many,
    packetsPerUpdate: 1,
  };
  const base = { ...config(), rootSide: end, moduleSide: end };

  it('leaves its credits to the next one', () => {
    // Two packets have credits; of their updates the first is hit, and the second tells of both.
    const rig = new Rig({ config: base, wanted: { up: zeros(4) }, hit: { down: [true] } });
    rig.kernel.runUntil(1_000_000);
    const second = 2 * packetTicks + updateTicks;
    expect(rig.delivered.up.map(({ time }) => time)).toEqual([
      packetTicks,
      2 * packetTicks,
      second + packetTicks,
      second + 2 * packetTicks,
    ]);
  });

  it('is sent again after 30 us at the latest (§2.6.1.2)', () => {
    const both = { down: [true, true] };
    const rig = new Rig({ config: base, wanted: { up: zeros(3) }, hit: both });
    rig.kernel.runUntil(1_000_000);
    // 100 ps a tick; the timer starts anew with the second update, and the third comes through.
    const third = 2 * packetTicks + updateTicks + 300_000 + updateTicks;
    expect(rig.delivered.up[2]!.time).toBe(third + packetTicks);
    expect(rig.ledger('down').credit_updates! / 8).toBe(8 * 4);
  });
});

describe('repeating from the packet that failed', () => {
  // Go-back-N: (1 − p) / (1 + (N − 1) p) of the packets sent are of use, where each is hit with chance p
  // and N packets' time passes before it is sent again (Bertsekas and Gallager, Data Networks, 2nd
  // edition, §2.4; Schwartz, Telecommunication Networks, §4; both from memory).
  it.each([
    [3, 0.05],
    [10, 0.01],
    [40, 0.01],
  ] as const)('has the efficiency of the textbook: N = %i, p = %f', (n, p) => {
    const random = new Kernel({ seed: 7 }).stream();
    const hit = numbers(60_000).map(() => random.chance(p));
    // Nak and timer both end within the packet before, so either costs N packets' time.
    const over = {
      nakTicks: (n - 1) * packetTicks - 300,
      timerTicks: (n - 1) * packetTicks - 10,
    };
    const rig = new Rig({ config: config(over), wanted: { up: zeros(60_000) }, hit: { up: hit } });
    rig.kernel.runUntil(50_000 * packetTicks);
    const found = rig.delivered.up.length / 50_000;
    const textbook = (1 - p) / (1 + (n - 1) * p);
    const { naks, timeouts } = rig.replays('up');
    // Losses are a Bernoulli process: their number varies by less than its square root.
    const deviation = (1 - textbook) / Math.sqrt(naks + timeouts);
    expect(naks + timeouts).toBeGreaterThan(200);
    expect(Math.abs(found - textbook)).toBeLessThan(4 * deviation);
    // Far from what no replay, or one packet's replay, would leave.
    expect(found).toBeLessThan(1 - p - 4 * deviation);
    expect(rig.ledger('up').replay! / (50_000 * packetTicks)).toBeCloseTo(1 - found, 2);
  });
});

describe('the replay timer', () => {
  const { timerTicks } = rules;

  it('repeats the last packet of a burst when its Nak is lost', () => {
    const rig = new Rig({
      config: config(),
      wanted: { up: [0] },
      hit: { up: [true], down: [true] },
    });
    rig.kernel.runUntil(500_000);
    expect(rig.delivered.up).toEqual([{ number: 0, time: 2 * packetTicks + timerTicks }]);
    expect(rig.ledger('up').replay).toBe(packetTicks + timerTicks);
  });

  it('repeats a packet whose Ack is lost; the receiver drops it and acknowledges once more', () => {
    const rig = new Rig({ config: config(), wanted: { up: [0] }, hit: { down: [true] } });
    rig.kernel.runUntil(packetTicks + timerTicks + 10);
    expect(rig.up.unacknowledged).toBe(1);
    rig.kernel.runUntil(500_000);
    expect(rig.delivered.up).toEqual([{ number: 0, time: packetTicks }]);
    expect(rig.up.unacknowledged).toBe(0);
    expect(rig.ledger('up').replay).toBe(packetTicks);
    expect(rig.replays('up')).toMatchObject({ naks: 0, timeouts: 1, discarded: 1 });
    expect(rig.ledger('down').acknowledgements! / 8).toBe(2 * 8);
  });

  it('does not run where Acks come, nor for a lost Ack that the next one makes good', () => {
    const rig = new Rig({ config: config(), wanted: { up: zeros(200) }, hit: { down: [true] } });
    rig.kernel.runUntil(1_000_000);
    expect(rig.replays('up')).toMatchObject({ naks: 0, timeouts: 0, discarded: 0 });
    expect(rig.ledger('up').replay).toBeUndefined();
  });

  it('starts anew with each Ack that brings progress', () => {
    // 60 packets take 88 800 ticks, but each is acknowledged within 2000 of its end.
    const rig = new Rig({ config: config({ timerTicks: 2000 }), wanted: { up: zeros(60) } });
    rig.kernel.runUntil(1_000_000);
    expect(rig.replays('up').timeouts).toBe(0);
  });

  it('gives up after four replays without progress: the link would be trained anew', () => {
    const hit = new Array<boolean>(5).fill(true);
    const rig = new Rig({
      config: config({ nakTicks: 10_000_000 }),
      wanted: { up: [0] },
      hit: { up: hit },
    });
    rig.kernel.runUntil(1_000_000);
    expect(rig.replays('up')).toMatchObject({ timeouts: 5, retrained: 1 });
  });
});

describe('acknowledgement', () => {
  it('comes by count, and for what is left by the Ack timer', () => {
    const rig = new Rig({ config: config({}, 4), wanted: { up: zeros(6) } });
    rig.kernel.runUntil(4 * packetTicks + ackTicks);
    expect(rig.up.unacknowledged).toBe(1);
    const fifth = 5 * packetTicks;
    rig.kernel.runUntil(fifth + rules.ackTicks + ackTicks - 1);
    expect(rig.up.unacknowledged).toBe(2);
    rig.kernel.runUntil(fifth + rules.ackTicks + ackTicks);
    expect(rig.up.unacknowledged).toBe(0);
  });

  it('is waited for with a full buffer, at the cost of acknowledgements where nothing was hit', () => {
    const rig = new Rig({ config: config({ packets: 1 }), wanted: { up: zeros(100) } });
    const round = packetTicks + ackTicks;
    rig.kernel.runUntil(50 * round);
    expect(rig.delivered.up).toHaveLength(50);
    expect(rig.ledger('up')).toMatchObject({ acknowledgements: 50 * ackTicks, total: 50 * round });
    const { replay } = rig.ledger('up');
    expect(replay).toBeUndefined();
  });

  it('is waited for at the cost of replays where it was hit', () => {
    const rig = new Rig({
      config: config({ packets: 1 }),
      wanted: { up: zeros(100) },
      hit: { down: [true] },
    });
    rig.kernel.runUntil(packetTicks + rules.timerTicks);
    expect(rig.ledger('up').replay).toBe(rules.timerTicks - ackTicks);
    expect(rig.ledger('up').acknowledgements).toBe(ackTicks);
  });

  it('is waited for at the cost of replays too where it was hit before anything waited', () => {
    const rig = new Rig({
      config: config({ packets: 1 }),
      wanted: { up: [0, 10_000] },
      hit: { down: [true] },
    });
    const expires = packetTicks + rules.timerTicks;
    rig.kernel.runUntil(expires);
    expect(rig.ledger('up').replay).toBe(expires - 10_000);
    expect(rig.ledger('up').acknowledgements).toBeUndefined();
  });

  it('of a number acknowledged before frees nothing', () => {
    const buffer = new ReplayBuffer(8, 800, Int32Array.of(100));
    for (let i = 0; i < 5; i++) expect(buffer.push(0, i, 0)).toBe(i);
    expect(buffer.acknowledge(2)).toBe(3);
    expect([1, 2, 4095].map((old) => buffer.acknowledge(old))).toEqual([0, 0, 0]);
    expect([buffer.size, buffer.bytes]).toEqual([2, 200]);
    expect(buffer.acknowledge(4)).toBe(2);
  });

  it('waits for bytes as for packets', () => {
    // Two packets of 148 B, and not a third.
    const rig = new Rig({
      config: config({ bytes: 443, ackTicks: 9000 }, 2),
      wanted: { up: zeros(40) },
    });
    const round = 2 * packetTicks + ackTicks;
    rig.kernel.runUntil(20 * round);
    expect(rig.delivered.up).toHaveLength(40);
    expect(rig.up.peaks().unacknowledged).toBe(2);
    expect(rig.delivered.up[39]!.time).toBe(20 * round - ackTicks);
  });

  it('needs a buffer that holds the longest packet, and numbers that tell its packets apart', () => {
    const made = (over: Partial<ReplayRules>) => () =>
      new Rig({ config: config(over), wanted: { up: [] } });
    expect(made({ bytes: 148 })).not.toThrow();
    expect(made({ bytes: 147 })).toThrow(RangeError);
    expect(made({ packets: 2047 })).not.toThrow();
    expect(made({ packets: 2048 })).toThrow(RangeError);
    expect(made({ packets: 0 })).toThrow(RangeError);
  });
});
