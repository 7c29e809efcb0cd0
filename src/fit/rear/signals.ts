import { type RearConnector, rearConnectors } from '../../system/pins.ts';
import { gathered, type Judged, judge, type PinVerdict } from '../pins/gather.ts';
import { meetings, type PinMeeting, routeOf } from '../pins/meet.ts';
import { type FitRule, type SeatedContext, seated } from '../rule.ts';
import { given } from '../weigh.ts';
import type { RearRoute } from './routes.ts';

const id = 'rear-signals';
const clause =
  'ANSI/VITA 46.9 and VITA 35 patterns; common practice: "supports rear I/O" is not a map';

const noMap: PinVerdict = {
  level: 'unknown',
  why: 'no pattern and no map says where these go',
  next:
    "Get the name of the pattern and its first wafer, or the maker's own list of pins: that a " +
    'carrier supports rear I/O is no map.',
};

function lost(route: RearRoute | undefined): PinVerdict {
  const [first] = route?.patterns ?? [];
  const stated = route?.patterns.map((text) => given(`rear of ${route.connector}`, text)) ?? [];
  const by = [...stated, ...(route?.rows ?? [])];
  return {
    level: 'stop',
    why: first === undefined ? 'lost' : `lost under ${first.value}`,
    next: 'Choose a carrier or a pattern that carries these signals, or do without them.',
    by,
  };
}

/** Pins that a pattern without a known list may carry: columns C and F of P16, all of P14. */
const mayCarry = (pin: string) => /^[CF\d]/.test(pin);

function verdictOf(route: RearRoute | undefined, meeting: PinMeeting): PinVerdict | undefined {
  const { module, carrier, pin } = meeting;
  if (module?.use.value !== 'signal') return undefined;
  const contact = route?.contacts.get(pin);
  switch (carrier?.use.value) {
    case 'signal':
    case 'pull-up':
    case 'pull-down':
    case 'ground':
    case 'power':
      // They end on the carrier, where other rules weigh them.
      return undefined;
    case 'open':
      return { ...lost(undefined), why: 'left open by the carrier' };
    case 'rear':
      if (contact === undefined) return noMap;
      return { level: 'ok', why: `to ${contact.contact}`, next: '', by: [contact.from] };
    default:
  }
  if (route === undefined) return noMap;
  const [open] = route.open;
  if (open !== undefined && mayCarry(pin)) {
    return {
      level: 'unknown',
      why: `${open.id} carries ${open.count} pins, and which ones is not known here`,
      next: `Get the list of pins of ${open.id} from ${open.row.document} or the carrier's maker.`,
    };
  }
  return lost(route);
}

/** What this rule says of each meeting; a link over P16 is no rear I/O. */
export function signalsOf(
  c: SeatedContext,
  connector: RearConnector,
  all: readonly PinMeeting[],
): readonly Judged[] {
  if (c.module.connectors[connector]?.carries.value === 'PCI Express') return [];
  const route = routeOf(c, connector);
  return judge(all, (m) => verdictOf(route, m));
}

/** Every signal of the module on P14 and P16 reaches a known place; what is lost is named. */
export const rearSignalsRule: FitRule = {
  id,
  title: 'Rear I/O signal by signal',
  clause,
  check: seated((c) =>
    rearConnectors.flatMap((connector) => {
      const head = {
        id,
        what: 'signals',
        clause,
        holds: 'each reaches the backplane',
        holdsNext: 'Compare the contacts with the cable or transition module behind them.',
      };
      return gathered(c, connector, head, signalsOf(c, connector, meetings(c, connector)));
    }),
  ),
};
