// Shows how a part of the page stands without loading the page anew, so that nothing that is being written in it is lost. The
// part says itself after how many seconds to look again, and ends by not saying it.
const part = document.querySelector("[data-live]");
let last = "";
const pause = () => part.querySelector("[data-again]")?.dataset.again;

async function look() {
  // Whoever is at a link in it is not sent away from there.
  if (!document.hidden && !part.contains(document.activeElement)) {
    try {
      const answer = await fetch(part.dataset.live);
      if (answer.ok && !answer.redirected) {
        const text = await answer.text();
        if (text !== last) part.innerHTML = text;
        last = text;
      }
    } catch (fault) {
      // No network: it is tried again.
      if (!(fault instanceof TypeError)) throw fault;
    }
  }
  later();
}

function later() {
  if (pause()) setTimeout(look, 1000 * pause());
}

later();
