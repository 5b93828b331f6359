// Task: findings by danger, each with its place, its mend tried before it is applied; a danger is answered in writing only.
import { afterAll, beforeAll, expect, it } from "vitest";
import { PHONE, Person, Service, closeBrowser } from "../person.ts";

let service: Service;
beforeAll(async () => {
    service = await Service.of(["faulty"], true);
});
afterAll(async () => {
    await closeBrowser();
    await service.stop();
});

const rank = (label: string | null) =>
    ["Danger", "Warning", "Advice"].findIndex((word) => label?.startsWith(word));

it("tries a mend, shows what it does, applies it, and takes it back", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/faulty/findings");
    const cards = page.getByRole("article");
    await cards.first().waitFor();
    const ranks = (await cards.evaluateAll((all) => all.map((one) => one.getAttribute("aria-label")))).map(
        rank,
    );
    expect(ranks).toEqual([...ranks].sort());
    expect(ranks[0]).toBe(0);
    const count = await cards.count();

    // Not every finding has a change that takes it away: one after the other is tried until one has.
    const offers = page.getByRole("group", { name: "A mend" });
    const offer = offers.filter({ hasText: "Findings that go" });
    for (let tried = 1; tried <= 10 && (await offer.count()) === 0; tried += 1) {
        await page
            .getByRole("button", { name: /Try a mend/ })
            .first()
            .click();
        await expect.poll(() => offers.count()).toBe(tried);
    }
    await offer.getByText("Price").waitFor();
    await person.findsNoBarrier();
    await person.pictures("findings-mend");
    const before = service.file("faulty/intent.toml");
    await offer.getByRole("button", { name: "Apply" }).click();
    await expect.poll(() => cards.count()).toBeLessThan(count);
    expect(service.file("faulty/intent.toml")).not.toBe(before);
    await page.getByRole("button", { name: "Take back" }).click();
    await expect.poll(() => service.file("faulty/intent.toml")).toBe(before);
    await expect.poll(() => cards.count()).toBe(count);
    await person.leaves();
});

it("jumps to the place on the drawing", async () => {
    const person = await Person.at(service);
    const { page } = person;
    await person.goes("#/faulty/findings");
    await page
        .getByRole("link", { name: /^On the drawing/ })
        .first()
        .click();
    await page
        .getByRole("region", { name: "Note" })
        .getByRole("heading", { name: "Findings here" })
        .waitFor();
    await page.locator("main svg .handle").first().waitFor({ state: "attached" });
    await person.pictures("findings-place");
    await person.leaves();
});

it("answers a danger with a sentence, changes the reason, and withdraws it", async () => {
    const person = await Person.at(service, PHONE);
    const { page } = person;
    await person.goes("#/faulty/findings");
    const card = page.getByRole("article", { name: /^Danger/ }).first();
    const title = await card.getAttribute("aria-label");
    const mine = page.getByRole("article", { name: title ?? "" }).first();
    const before = service.file("faulty/intent.toml");
    await mine.getByRole("button", { name: /Answer with a reason/ }).click();
    const field = mine.getByRole("textbox");
    await field.fill("ok");
    await mine.getByRole("button", { name: "Write it down" }).click();
    await mine.getByText(/whole sentence/).waitFor();
    expect(service.file("faulty/intent.toml")).toBe(before);
    await person.findsNoBarrier();
    await field.fill("Only on the bench, and never left alone.");
    await mine.getByRole("button", { name: "Write it down" }).click();
    await mine.getByText("Answered with this reason").waitFor();
    expect(service.file("faulty/intent.toml")).toContain("Only on the bench, and never left alone.");
    await mine.getByRole("button", { name: /Change the reason/ }).click();
    await mine.getByRole("textbox").fill("Only on the bench, with the main disconnect open.");
    await mine.getByRole("button", { name: "Write it down" }).click();
    await expect.poll(() => service.file("faulty/intent.toml")).toContain("with the main disconnect open.");
    expect(service.file("faulty/intent.toml")).not.toContain("never left alone");
    await person.findsNoBarrier();
    await person.findsNoOverflow();
    await person.pictures("findings-answered-phone");
    await mine.getByRole("button", { name: "Withdraw the reason" }).click();
    await expect.poll(() => service.file("faulty/intent.toml")).toBe(before);
    await person.leaves();
});
