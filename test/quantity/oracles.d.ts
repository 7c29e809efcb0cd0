// Neither reference library ships types; only what the tests call is declared.
declare module 'unitmath' {
  interface ReferenceUnit {
    to(unit: string): ReferenceUnit;
    getValue(): number;
  }
  const unit: (text: string) => ReferenceUnit;
  export default unit;
}
declare module 'js-quantities' {
  interface ReferenceQuantity {
    to(unit: string): ReferenceQuantity;
    toBase(): ReferenceQuantity;
    isCompatible(other: ReferenceQuantity): boolean;
    readonly scalar: number;
  }
  const Qty: (text: string) => ReferenceQuantity;
  export default Qty;
}
