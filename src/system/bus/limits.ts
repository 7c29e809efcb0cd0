/** What the rates of a parallel bus leave out, a sentence each, said before the numbers are used. */
import type { BusPlan } from './plan.ts';

/** Approximations that apply to a plan. */
export function busLimits(plan: BusPlan): string[] {
  const { segment, card, case: c } = plan.of;
  const asking = segment.devices.some((d) => d.rate !== undefined);
  const reads = c.streams.some((s) => s.direction.value === 'from host');
  return [
    'PCI and PCI-X: most timing rules are recalled from memory, their texts were not at hand; parity, ' +
      'locked transactions, interrupt traffic and configuration cycles are left out',
    'PCI and PCI-X: descriptors that the module fetches over the bus are not counted',
    ...(c.streams.length > 1
      ? ['PCI and PCI-X: streams of one module take turns transfer by transfer at no cost']
      : []),
    ...(card.overhead
      ? [
          'PCI and PCI-X: of the overhead stated for a burst, what neither the protocol nor a stated wait ' +
            'of the target takes is charged to the module as its pause',
        ]
      : []),
    ...(asking
      ? [
          'PCI and PCI-X, several devices: turns by the rule of the arbiter, each cut by its latency ' +
            "timer, are averages; a module's own pauses are taken to lie behind the turns of others",
        ]
      : []),
    ...(reads
      ? [
          'PCI and PCI-X: deferred reads are handed over once all data are there; several at once share ' +
            'the bus without holding each other up, which docs/parallel-bus.md bounds at 25 %',
          'PCI and PCI-X: how reads and writes of one module hold each other up is a range; the simulation ' +
            'of the segment tells',
        ]
      : []),
    ...(plan.above
      ? [
          'bridge: the slower of bus and links counts; where the links are slower, clocks of the bus lost ' +
            'while the posting buffer is full are charged to retries as a whole',
        ]
      : []),
  ];
}
