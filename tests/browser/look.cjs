// Opens pages in a headless chromium and prints as JSON what a reader would stumble over.
// node look.cjs CHROMIUM FILE...
const fs = require("fs");
const { chromium } = require("playwright-core");
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const [, , program, ...files] = process.argv;
const quiet = ["--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"];
const root = process.getuid && process.getuid() === 0 ? ["--no-sandbox"] : [];
const WIDTHS = [390, 1280];

function watch(page, file, seen) {
  page.on("console", (message) => seen.console.push(message.text()));
  page.on("pageerror", (error) => seen.console.push(String(error)));
  page.on("request", (request) => {
    if (request.url() !== `file://${file}` && !request.url().startsWith("data:")) seen.requests.push(request.url());
  });
}

async function look(browser, file, scheme) {
  const seen = { scheme, console: [], requests: [], overflow: {}, violations: [] };
  const context = await browser.newContext({ colorScheme: scheme });
  const page = await context.newPage();
  watch(page, file, seen);
  await page.goto(`file://${file}`);
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 844 });
    seen.overflow[width] = await page.evaluate(() => [
      Math.max(0, document.documentElement.scrollWidth - innerWidth),
      [...document.querySelectorAll(".wide, svg")].filter((e) => e.scrollWidth > e.clientWidth + 1).length,
    ]);
  }
  await context.close();
  // The policy of the page forbids scripts; axe has to be let past it, the look above has not.
  const passing = await browser.newContext({
    colorScheme: scheme, bypassCSP: true, viewport: { width: scheme === "light" ? 390 : 1280, height: 844 },
  });
  const tested = await passing.newPage();
  await tested.goto(`file://${file}`);
  await tested.evaluate(axe);
  const found = await tested.evaluate(() => axe.run(document));
  seen.violations = found.violations.map((each) => `${each.id}: ${each.nodes[0].html.slice(0, 120)}`);
  seen.passes = found.passes.length;
  await passing.close();
  return seen;
}

async function pages(browser, file) {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(`file://${file}`);
  const pdf = await page.pdf({ format: "A4", preferCSSPageSize: true });
  await context.close();
  return (pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g) || []).length;
}

(async () => {
  const browser = await chromium.launch({ executablePath: program, headless: true, args: [...quiet, ...root] });
  const found = {};
  for (const file of files) {
    found[file] = { pages: await pages(browser, file), looks: [] };
    for (const scheme of ["light", "dark"]) found[file].looks.push(await look(browser, file, scheme));
  }
  await browser.close();
  process.stdout.write(JSON.stringify(found));
})().catch((error) => {
  process.stderr.write(String(error.stack || error));
  process.exit(1);
});
