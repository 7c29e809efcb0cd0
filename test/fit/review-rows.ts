/** Changes of a good case, each of which moves one finding of the review before an order. */
import type { Level } from '../../src/model/finding.ts';
import type { Case } from '../../src/system/case.ts';
import { amount, type Draft, sheet } from './survey.ts';

type Change = (c: Draft<Case>) => void;
/** What is changed, the good case, the change, the id that moves, its level after. */
export type ReviewRow = readonly [string, string, Change, string, Level];

const mm = (text: string) => amount(text, 'length');
const kelvin = (text: string) => amount(text, 'thermal resistance');
const time = (text: string) => amount(text, 'time');
const site = (c: Draft<Case>) => c.carrier!.site;
const fpga = (c: Draft<Case>) => c.module.hot_parts!.fpga!;
/** The sealed box with a rib good enough to pass: 71 + 7.8 + 10.0 + 14.0 = 102.9 °C. */
export const passing: Change = (c) => (site(c).frame = kelvin('0.7 K/W'));

export const reviewRows: readonly ReviewRow[] = [
  [
    'a full module on a shortened site',
    'recorder',
    (c) => (site(c).length = mm('143.75 mm')),
    'length',
    'stop',
  ],
  [
    'a module of the extended length of 155 mm',
    'recorder',
    (c) => (c.module.length = mm('155 mm')),
    'length',
    'stop',
  ],
  [
    'parts of the carrier in the I/O zone, 9.8 mm + 1 mm',
    'recorder',
    (c) => (site(c).io_zone_height = mm('1 mm')),
    'io-zone',
    'stop',
  ],
  [
    'low parts of the carrier in the I/O zone',
    'recorder',
    (c) => (site(c).io_zone_height = mm('0.1 mm')),
    'io-zone',
    'caution',
  ],
  [
    'a pitch of 16 mm for 16.9 mm',
    'recorder',
    (c) => (c.slot!.pitch = mm('16 mm')),
    'slot-pitch',
    'stop',
  ],
  [
    'the outer side of the carrier not given',
    'recorder',
    (c) => delete c.carrier!.part.side2_height,
    'slot-pitch',
    'unknown',
  ],
  [
    'front connectors in the sealed box',
    'sealed-box',
    (c) => (c.module.front_io = sheet(true)),
    'front-io',
    'stop',
  ],
  ['hot air', 'recorder', (c) => (c.slot!.inlet_air = hot('90 degC')), 'heat/fpga', 'stop'],
  [
    'a hundredth of the air',
    'recorder',
    (c) => (c.slot!.air_flow = amount('0.25 m3/h', 'volume flow')),
    'heat/fpga',
    'unknown',
  ],
  ['the flow not given', 'recorder', (c) => delete c.slot!.air_flow, 'heat/fpga', 'unknown'],
  [
    'a kilometre up: the atmosphere is from memory',
    'recorder',
    (c) => (c.slot!.altitude = mm('1000 m')),
    'heat/fpga',
    'caution',
  ],
  ['no hot parts', 'recorder', (c) => (c.module.hot_parts = {}), 'heat', 'unknown'],
  [
    'wedge locks of 0.3 K/W',
    'sealed-box',
    (c) => (c.carrier!.part.wedge_locks = kelvin('0.3 K/W')),
    'heat/fpga',
    'stop',
  ],
  [
    'a carrier of 60 W on the same wedge locks',
    'sealed-box',
    (c) => (c.carrier!.part.own_power = amount('60 W', 'power')),
    'heat/fpga',
    'stop',
  ],
  [
    'a range of the rib that crosses the ceiling',
    'sealed-box',
    (c) => (site(c).frame = kelvin('0.5..1.0 K/W')),
    'heat/fpga',
    'unknown',
  ],
  [
    'above the usual margin, which nobody asked for',
    'sealed-box',
    (c) => {
      site(c).frame = kelvin('1.0 K/W');
      delete fpga(c).ceiling;
    },
    'heat/fpga',
    'caution',
  ],
  [
    'above the maker’s limit',
    'sealed-box',
    (c) => {
      delete fpga(c).ceiling;
      fpga(c).junction_limit = hot('100 degC');
    },
    'heat/fpga',
    'stop',
  ],
  [
    'a margin that the case asks for',
    'sealed-box',
    (c) => {
      delete fpga(c).ceiling;
      c.policy = { junction_margin: amount('30 K', 'temperature difference') };
    },
    'heat/fpga',
    'stop',
  ],
  [
    'a bare board in salt fog',
    'sealed-box',
    (c) => (c.module.withstands!['salt fog'] = sheet(false)),
    'environment/salt-fog',
    'stop',
  ],
  [
    'condensation that the carrier does not speak of',
    'sealed-box',
    (c) => delete c.carrier!.part.withstands!.condensation,
    'environment/condensation',
    'unknown',
  ],
  [
    'engines that the module does not stand',
    'sealed-box',
    (c) => (c.module.withstands!['low-frequency vibration'] = sheet(false)),
    'environment/low-frequency-vibration',
    'stop',
  ],
  [
    'a class below the one asked for',
    'sealed-box',
    (c) => (c.module.environment_class = [sheet('CC2'), sheet('V2')]),
    'environment-class/CC3',
    'stop',
  ],
  [
    'a class above the one asked for, by rows from memory',
    'sealed-box',
    (c) => (c.module.environment_class = [sheet('CC4'), sheet('V2')]),
    'environment-class/CC3',
    'caution',
  ],
  [
    'no class of vibration',
    'sealed-box',
    (c) => (c.carrier!.part.environment_class = [sheet('CC3')]),
    'environment-class/V2',
    'unknown',
  ],
  [
    'a changeover longer than the hold-up',
    'sealed-box',
    (c) => (c.slot!.supply_dip = time('40 ms')),
    'supply-dip',
    'stop',
  ],
  [
    'hold-up not given',
    'sealed-box',
    (c) => delete c.carrier!.part.hold_up,
    'supply-dip',
    'unknown',
  ],
  [
    'a key for 5 V under a module for 3.3 V',
    'pmc-full',
    (c) => {
      c.module.signalling = [sheet('3.3 V')];
      site(c).key = sheet('5 V');
    },
    'signalling',
    'stop',
  ],
  ['a key nobody states', 'pmc-full', (c) => delete site(c).key, 'signalling', 'unknown'],
  [
    'charging with 8 A where 6 A are borne',
    'recorder',
    (c) => (c.module.inrush!.VPWR!.peak = amount('8 A', 'current')),
    'inrush/VPWR',
    'stop',
  ],
  [
    'charging for 20 ms at 4 A: 80 mC of 30 mC',
    'recorder',
    (c) => (c.module.inrush!.VPWR!.duration = time('20 ms')),
    'inrush/VPWR',
    'stop',
  ],
  [
    'the site says nothing of inrush',
    'recorder',
    (c) => delete site(c).inrush,
    'inrush/VPWR',
    'unknown',
  ],
  [
    'rails the other way round',
    'recorder',
    (c) => (site(c).rail_order = [sheet('VPWR'), sheet('3.3V')]),
    'rail-order',
    'stop',
  ],
  ['no order stated', 'recorder', (c) => delete site(c).rail_order, 'rail-order', 'unknown'],
  [
    'a slot of 50 W for 52.3 W',
    'recorder',
    (c) => (c.slot!.total_power = amount('50 W', 'power')),
    'slot-power',
    'stop',
  ],
  [
    'converters of 12 V only, and no efficiency',
    'recorder',
    (c) => {
      c.slot!.total_power = amount('100 W', 'power');
      c.slot!.supplies = { '+12V': { continuous: amount('16 A', 'current') } };
    },
    'slot-power',
    'unknown',
  ],
  [
    'a module that wants -12 V, which the site does not have',
    'recorder',
    (c) => (c.module.supplies['-12V'] = { continuous: amount('0.05 A', 'current') }),
    'supply/-12V',
    'stop',
  ],
  [
    'rails of the slot that give 48 W together',
    'recorder',
    (c) => {
      c.carrier!.part.converter_efficiency = amount('90 %', 'fraction');
      c.slot!.supplies = { '+12V': { continuous: amount('4 A', 'current') } };
    },
    'slot-power',
    'stop',
  ],
  [
    'an image of 256 Mibit: 1.3 s',
    'recorder',
    (c) => (c.module.configuration!.image = amount('256 Mibit', 'size')),
    'start-up',
    'stop',
  ],
  [
    'late for reset, before the first request',
    'recorder',
    (c) => (c.host!.start!.reset_release = time('100 ms')),
    'start-up',
    'caution',
  ],
  [
    'within the 20 ms after reset that are from memory',
    'recorder',
    (c) => (c.host!.start!.reset_release = time('165 ms')),
    'start-up',
    'caution',
  ],
  [
    'the delay of the site’s supplies not given',
    'recorder',
    (c) => delete site(c).supply_delay,
    'start-up',
    'unknown',
  ],
  [
    'nothing of the configuration given',
    'recorder',
    (c) => delete c.module.configuration,
    'start-up',
    'unknown',
  ],
  [
    'three modules on a segment at 100 MHz',
    'pmc-full',
    (c) => {
      site(c).bus_clock = amount('100 MHz', 'frequency');
      const other = { site: structuredClone(site(c)), module: structuredClone(c.module) };
      c.beside = { B: other, C: structuredClone(other) };
      delete c.slot!.total_power;
    },
    'bus-loads',
    'caution',
  ],
  [
    'two modules on a segment whose clock is not given',
    'pmc-full',
    (c) => {
      delete site(c).bus_clock;
      c.beside = { B: { site: structuredClone(site(c)), module: structuredClone(c.module) } };
    },
    'bus-loads',
    'unknown',
  ],
];

function hot(text: string) {
  return amount(text, 'temperature');
}

/** Rules that the rows move. */
export const reviewRules: readonly string[] = [
  ...new Set(reviewRows.map(([, , , id]) => id.split('/')[0]!)),
];
