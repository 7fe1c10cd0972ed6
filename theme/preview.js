// Reloads an open page of the preview when the pack was pressed again; shows the pack's errors over it.
(function () {
  "use strict";
  var edition = Number(document.currentScript.dataset.edition);
  var panel = null;

  function showErrors(text) {
    if (!panel) {
      panel = document.createElement("pre");
      panel.setAttribute("role", "alert");
      panel.style.cssText =
        "position:fixed;inset:0 0 auto 0;max-height:60vh;overflow:auto;margin:0;padding:16px;z-index:9;" +
        "background:#fff;color:#1b2530;border-bottom:3px solid #a0162b;font:14px/1.4 ui-monospace,monospace;white-space:pre-wrap";
      document.body.appendChild(panel);
    }
    panel.textContent = "The pack has errors; below is the last good page.\n\n" + text;
  }

  function ask(after) {
    fetch("/-/changes/" + after)
      .then(function (answer) {
        return answer.status === 200 ? answer.json() : null;
      })
      .then(function (news) {
        if (!news) {
          ask(after);
        } else if (news.errors) {
          showErrors(news.errors);
          ask(news.edition);
        } else {
          location.reload();
        }
      })
      .catch(function () {
        // The preview was ended or is being started again: ask until it answers.
        setTimeout(ask, 1000, after);
      });
  }

  // The first question is about the edition before this page's, so that errors present now are shown.
  fetch("/-/changes/" + (edition - 1))
    .then(function (answer) {
      return answer.status === 200 ? answer.json() : null;
    })
    .then(function (news) {
      if (news && news.errors) {
        showErrors(news.errors);
        ask(news.edition);
      } else if (news && news.edition > edition) {
        location.reload();
      } else {
        ask(edition);
      }
    })
    .catch(function () {
      setTimeout(ask, 1000, edition);
    });
})();
