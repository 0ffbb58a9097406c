// Lights up a cut everywhere: its card, its hole in the drawings, its vectors.
(function(){
var shown=null,kept=null;
function set(n,on){document.querySelectorAll('[data-step="'+n+'"]').forEach(function(e){e.classList.toggle('on',on)})}
function show(n){if(n===shown)return;if(shown!==null)set(shown,false);shown=n;if(n!==null)set(n,true)}
function of(e){var t=e.target&&e.target.closest?e.target.closest('[data-step]'):null;return t?t.getAttribute('data-step'):null}
function keep(n){kept=n===kept?null:n;show(n===null?null:kept)}
document.addEventListener('pointerover',function(e){if(e.pointerType!=='touch')show(of(e)||kept)});
document.addEventListener('focusin',function(e){show(of(e)||kept)});
document.addEventListener('click',function(e){keep(of(e))});
document.addEventListener('keydown',function(e){if(e.key==='Enter')keep(of(e));if(e.key==='Escape'){kept=null;show(null)}});
})();
