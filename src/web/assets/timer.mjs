// The crank timer: how long the starter turns, about how many compression strokes that makes, and a sound and a shake at 5 and 6 seconds.
// Whoever cranks looks at the gauge, not at the phone.

const STOP_FROM_S = 5;
const STOP_BY_S = 6;
const USUAL_RPM = 200; // where the sheet does not say

let audio = null;
function beep(times) {
  if (audio === null) return;
  for (let i = 0; i < times; i++) {
    const tone = audio.createOscillator();
    tone.frequency.value = 880;
    tone.connect(audio.destination);
    tone.start(audio.currentTime + 0.3 * i);
    tone.stop(audio.currentTime + 0.3 * i + 0.2);
  }
}

function shake(pattern) {
  navigator.vibrate?.(pattern);
}

function timer(box) {
  const known = Number.parseFloat(box.dataset.rpm);
  const rpm = known > 0 ? known : USUAL_RPM;
  const strokesWanted = Number.parseInt(box.dataset.strokes, 10) || 0;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "wide second";
  const time = document.createElement("output");
  const strokes = document.createElement("p");
  const bar = document.createElement("progress");
  bar.max = STOP_BY_S;
  bar.setAttribute("aria-label", "Cranking time");
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  box.append(button, time, bar, strokes, said);

  let began = null;
  let told = 0;
  const elapsed = () => (performance.now() - began) / 1000;

  function rest() {
    began = null;
    button.textContent = "Start as the starter turns";
  }

  function stop() {
    const seconds = elapsed();
    said.textContent = `${seconds.toFixed(1)} s, about ${Math.floor((seconds * rpm) / 120)} strokes. ` +
      (seconds < STOP_FROM_S ? "Short of 5 s: the gauge may not be full yet." : "Read the gauge, then bleed it.");
    rest();
  }

  function step() {
    if (began === null) return;
    const seconds = elapsed();
    time.textContent = `${seconds.toFixed(1)} s`;
    bar.value = Math.min(seconds, STOP_BY_S);
    // One compression stroke of a cylinder takes two turns of the crank.
    const made = Math.floor((seconds * rpm) / 120);
    strokes.textContent = `about stroke ${made}${strokesWanted > 0 ? ` of ${strokesWanted}` : ""}` +
      (known > 0 ? "" : `, at ${USUAL_RPM} rpm: the sheet does not say`);
    if (told < 1 && seconds >= STOP_FROM_S) {
      told = 1;
      said.textContent = "5 seconds: let go of the starter now.";
      beep(1);
      shake(250);
    }
    if (told < 2 && seconds >= STOP_BY_S) {
      told = 2;
      said.textContent = "6 seconds: stop.";
      beep(2);
      shake([250, 100, 250]);
    }
    if (seconds > 30) stop();
    else requestAnimationFrame(step);
  }

  button.addEventListener("click", () => {
    if (began !== null) {
      stop();
      return;
    }
    audio ??= globalThis.AudioContext ? new AudioContext() : null;
    began = performance.now();
    told = 0;
    said.textContent = "";
    button.textContent = "Stop";
    step();
  });
  rest();
}

for (const box of document.querySelectorAll(".timer")) timer(box);
