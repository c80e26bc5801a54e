/** Whether what is offered to a shop, and answered, has the form that the engine's own structs have (record-forms.json). */
import { readFileSync } from "node:fs";

interface Schema {
  $ref?: string;
  anyOf?: Schema[];
  enum?: unknown[];
  const?: unknown;
  type?: string | string[];
  properties?: Record<string, Schema>;
  required?: string[];
  additionalProperties?: boolean | Schema;
  items?: Schema;
  minItems?: number;
  maxItems?: number;
  minLength?: number;
  maxLength?: number;
  pattern?: string;
  minimum?: number;
  maximum?: number;
}
const FORMS = JSON.parse(readFileSync("test/record-forms.json", "utf8")) as Record<string, Schema>;

const patterns = new Map<string, RegExp>();
const asPattern = (text: string): RegExp => patterns.get(text) ?? patterns.set(text, new RegExp(text)).get(text)!;

const typeOf = (value: unknown): string[] => {
  if (value === null) return ["null"];
  if (Array.isArray(value)) return ["array"];
  if (typeof value === "number") return Number.isInteger(value) ? ["integer", "number"] : ["number"];
  return [typeof value];
};

/** What of the value is not of this form, by its path; '' where all is. */
function wrong(value: unknown, form: Schema, path: string): string {
  if (form.$ref) return wrong(value, FORMS[form.$ref.slice(2)]!, path);
  if (form.anyOf) return form.anyOf.some((one) => !wrong(value, one, path)) ? "" : `${path}: none of its forms`;
  const has = typeOf(value);
  const types = form.type === undefined ? has : [form.type].flat();
  if (!types.some((type) => has.includes(type))) return `${path}: no ${types.join(" or ")}`;
  if (form.enum && !form.enum.includes(value)) return `${path}: none of ${form.enum.join(", ")}`;
  if (form.const !== undefined && form.const !== value) return `${path}: not ${JSON.stringify(form.const)}`;
  if (typeof value === "number") return value < (form.minimum ?? -Infinity) || value > (form.maximum ?? Infinity) ? `${path}: out of bounds` : "";
  if (typeof value === "string") {
    const fits = value.length >= (form.minLength ?? 0) && value.length <= (form.maxLength ?? Infinity) && (!form.pattern || asPattern(form.pattern).test(value));
    return fits ? "" : `${path}: '${value}' does not fit`;
  }
  if (Array.isArray(value)) {
    if (value.length < (form.minItems ?? 0) || value.length > (form.maxItems ?? Infinity)) return `${path}: ${value.length} of them`;
    return value.map((one, i) => (form.items ? wrong(one, form.items, `${path}[${i}]`) : "")).find(Boolean) ?? "";
  }
  if (value === null || typeof value !== "object") return "";
  const lacks = form.required?.find((name) => !(name in value));
  if (lacks) return `${path}.${lacks}: is missing`;
  for (const [name, inner] of Object.entries(value)) {
    if (inner === undefined) continue; // JSON leaves it out
    const own = form.properties?.[name] ?? (typeof form.additionalProperties === "object" ? form.additionalProperties : undefined);
    if (!own && form.additionalProperties === false) return `${path}.${name}: is no field`;
    const told = own ? wrong(inner, own, `${path}.${name}`) : "";
    if (told) return told;
  }
  return "";
}

/** Throws where the value has not the form of this name: a kind of record, 'Offered', 'Answered', 'Changes'. */
export function held<T>(value: T, name: string): T {
  const told = wrong(value, FORMS[name]!, name);
  if (told) throw new Error(`not of the form: ${told}`);
  return value;
}
