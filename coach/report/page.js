"use strict";
// Plays the recording from the word or finding that was chosen, and shows which word is being heard.
(() => {
  const sound = document.querySelector("audio");
  const told = document.getElementById("told");
  const words = [...document.querySelectorAll("button.word")];
  const starts = words.map((word) => Number(word.dataset.at));
  let heard = null;

  function clock(seconds) {
    const whole = Math.floor(seconds);
    return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  }

  function playFrom(seconds) {
    sound.currentTime = seconds;
    sound.play().then(
      () => { told.textContent = `Playing from ${clock(seconds)}`; },
      () => { told.textContent = "The recording could not be played here."; },
    );
  }

  function wordAt(seconds) {
    let index = -1;
    while (index + 1 < starts.length && starts[index + 1] <= seconds + 0.05) index += 1;
    return words[index] ?? null;
  }

  function showHeard() {
    const word = sound.paused ? null : wordAt(sound.currentTime);
    if (word === heard) return;
    heard?.removeAttribute("aria-current");
    word?.setAttribute("aria-current", "true");
    heard = word;
  }

  // The words are one stop of the Tab key; the arrow keys move among them.
  function stopAt(index) {
    words.forEach((word, i) => { word.tabIndex = i === index ? 0 : -1; });
  }

  function move(event) {
    const here = words.indexOf(document.activeElement);
    const steps = { ArrowRight: here + 1, ArrowDown: here + 1, ArrowLeft: here - 1, ArrowUp: here - 1,
      Home: 0, End: words.length - 1 };
    const next = steps[event.key];
    if (here < 0 || next === undefined || !words[next]) return;
    event.preventDefault();
    words[next].focus();
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-at]");
    if (button) playFrom(Number(button.dataset.at));
  });
  words.forEach((word, index) => word.addEventListener("focus", () => stopAt(index)));
  document.getElementById("words")?.addEventListener("keydown", move);
  for (const name of ["timeupdate", "pause", "ended", "seeked"]) sound.addEventListener(name, showHeard);
  sound.addEventListener("pause", () => { told.textContent = ""; });
  stopAt(0);
})();
