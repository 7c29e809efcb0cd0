/** Margins taken where neither part nor case states one, and what heat paths rest on. */
import type { Cited } from './mezzanine-cited.ts';

/** How far below its maker's limit a junction stays, kelvin: 105 °C for silicon of 125 °C. */
export const junctionMarginRow: Cited & { readonly kelvin: number } = {
  kelvin: 20,
  document: 'common practice',
  clause: 'junctions of 125 °C silicon kept to 105 to 110 °C (no source)',
  basis: 'practice',
};

/** Share of a connector's rated current that is used. */
export const connectorCurrentRow: Cited & { readonly percent: number } = {
  percent: 70,
  document: 'System Reliability Center, Part Derating Parameters',
  clause: 'connectors: current 70 % severe, 85 % benign (studyres.com/doc/7099315; order inferred)',
  basis: 'practice',
};

/** Heat in series to the cold wall; the wedge locks carry the whole plug-in's. */
export const conductionRow: Cited = {
  document: 'common practice',
  clause:
    'Tj = edge + (carrier + modules) × wedge locks + module × frame + part × its own (no source)',
  basis: 'practice',
};

/** Heat to the air, which has warmed on its way. */
export const forcedAirRow: Cited = {
  document: 'common practice',
  clause:
    'Tj = inlet + share of P / (rho cp Q) + part × its own' +
    ' (form read in industrialmonitordirect.com, forced-air cooling calculation)',
  basis: 'practice',
};

/** Air as makers of fans rate it, kg/m3: 0.075 lb/ft3. */
export const fanAirRow: Cited & { readonly density: number } = {
  density: 1.2014,
  document: 'nidec.com/aircooling/fantech.htm',
  clause: 'air of 0.075 lb/ft3: dT = P / (0.569 CFM)',
  basis: 'practice',
};

/** A part stands somewhere between inlet and outlet. */
export const placeInAirRow: Cited = {
  document: 'common practice',
  clause: 'a part may stand anywhere between inlet and outlet (no source)',
  basis: 'practice',
};
