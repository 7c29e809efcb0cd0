import { linkSignalRows } from '../../standards/link-signals.ts';
import { type FitRule, seated } from '../rule.ts';
import { signalFinding } from './draft.ts';

const id = 'reference-clock';

/** The module's clock against what the site gives. */
export const referenceClockRule: FitRule = {
  id,
  title: 'Reference clock',
  clause: linkSignalRows.clock.clause,
  check: seated((c) => {
    const [ours, theirs] = [c.module.signals?.clock, c.site.signals?.clock];
    return signalFinding({
      id,
      subject: `reference clock of ${c.module.id}`,
      row: linkSignalRows.clock,
      sides: [
        { name: `clock of ${c.module.id}`, value: ours },
        { name: `clock at site ${c.siteName} of ${c.carrier.id}`, value: theirs },
      ],
      judge: () => judge(ours!.value, theirs!.value),
    });
  }),
};

function judge(ours: string, theirs: string) {
  if (theirs === 'absent' && ours === 'from the connector') {
    return {
      level: 'stop' as const,
      message: 'the module takes its clock from the connector, and the site gives none',
      next: 'Choose a module build with its own clock, or a carrier that routes the clock pair.',
    };
  }
  if (theirs === 'spread spectrum' && ours === 'own') {
    return {
      level: 'stop' as const,
      message: 'the host spreads its clock, and the module runs on its own without tolerating it',
      next: 'Switch spread spectrum off, or choose a build that takes the clock of the connector.',
    };
  }
  return {
    level: 'ok' as const,
    message: `${ours} on the module, ${theirs} at the site`,
    next: '',
  };
}
