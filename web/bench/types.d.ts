// What the service declares of its calculations and answers for them.

interface CalculationSummary {
  name: string;
  subject: string;
  question: string;
  summary: string;
}

/** A number with its range, or (without decimals) a choice or a text. */
interface Item {
  name: string;
  label: string;
  unit: string | null;
  low: number | null;
  high: number | null;
  decimals: number | null;
  choices: string[];
  many: boolean;
}

interface Taken extends Item {
  required: boolean;
  default: number | string | null;
  example: Given | null;
}

interface CurveLine {
  name: string;
  label: string;
  unit: string;
  decimals: number;
}

interface CurveDeclaration {
  title: string;
  x: string;
  lines: string[];
  band: [string, string] | null;
  columns: CurveLine[];
}

interface UsUnit {
  unit: string;
  factor: number;
  offset: number;
}

interface Declaration extends CalculationSummary {
  answer: string;
  takes: Taken[];
  gives: Item[];
  notes: string;
  source: string;
  cautions: string[];
  curve: CurveDeclaration | null;
  us_units: Record<string, UsUnit>;
}

type Given = number | string | (number | string | null)[];

interface Answer {
  name: string;
  values: Record<string, number | string | (number | string)[] | null>;
  words: Record<string, string>;
  sentence: string;
  why: string | null;
  cautions: string[];
}

type Columns = Record<string, (number | null)[]>;

interface CurvePoints {
  name: string;
  columns: Columns;
}

type Units = "metric" | "us";
