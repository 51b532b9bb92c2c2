// node answers.mjs MODULE REQUESTS
// REQUESTS holds a JSON array of [export, text]; prints each answer on a line.
import { readFile } from "node:fs/promises";
import { load } from "../spareamps.mjs";

const spareamps = await load(await readFile(process.argv[2]));
const requests = JSON.parse(await readFile(process.argv[3], "utf8"));
const answers = requests.map(([name, text]) =>
  name === "quantity" ? spareamps.quantityText(text) : name === "about" ? JSON.stringify(spareamps.about()) :
  name === "day" ? spareamps.dayText(text) : name === "fit" ? spareamps.fitText(text) : name === "log" ? spareamps.logText(text, '{"ambient_C":36}') : spareamps.ceilingText(text));
process.stdout.write(answers.join("\n") + "\n");
