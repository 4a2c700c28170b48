using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Edits in words, as a person types them: "delete snare 3.2a", "add hat-closed 1.4&amp; @60". docs/bar-text.md lists them. A
/// stroke is named by its piece and place (or by its time, "2.313s"); what is kept is its time.
/// </summary>
public static class EditWords
{
    private static readonly (SwingWriting Writing, string Word)[] Writings =
        [(SwingWriting.Straight, "straight"), (SwingWriting.AsPlaced, "as-placed"), (SwingWriting.Dotted, "dotted"), (SwingWriting.Triplet, "triplet")];

    /// <summary>Reads an edit of a performance.</summary>
    /// <exception cref="InputException">No edit, or it names a stroke that is not there.</exception>
    public static ChartEdit Parse(string text, Performance performance)
    {
        ArgumentNullException.ThrowIfNull(text);
        ArgumentNullException.ThrowIfNull(performance);
        string[] words = text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
        switch (words)
        {
            case ["bar", _, "in", ..]:
                _ = BarText.Parse(text);
                return new TypeBar(text);
            case ["add", var piece, var place]:
                return new AddStroke(PieceId(piece), Place(place, performance), BarText.UnsaidVelocity);
            case ["add", var piece, var place, ['@', .. var loud]] when int.TryParse(loud, NumberStyles.None, CultureInfo.InvariantCulture, out int velocity):
                return new AddStroke(PieceId(piece), Place(place, performance), velocity);
            case ["delete", var piece, var place]:
                return new DeleteStroke(Stroke(piece, place, performance));
            case ["move", var piece, var place, "to", var to]:
                return new MoveStroke(Stroke(piece, place, performance), Place(to, performance));
            case ["rename", var piece, var place, "to", var other]:
                return new RepieceStroke(Stroke(piece, place, performance), PieceId(other));
            case ["mark", var piece, var place, var mark]:
                return new MarkStroke(Stroke(piece, place, performance), mark, true);
            case ["unmark", var piece, var place, var mark]:
                return new MarkStroke(Stroke(piece, place, performance), mark, false);
            case ["shift", var piece, var place, "to", [.. var to, 's']] when Seconds(to) is { } moment:
                return new ShiftStroke(Stroke(piece, place, performance), moment);
            case ["hear", var piece, [.. var at, 's']] when Seconds(at) is { } heard:
                return new HearStroke(PieceId(piece), heard);
            case ["hear", var piece, [.. var at, 's'], ['@', .. var loud]] when Seconds(at) is { } heard && int.TryParse(loud, NumberStyles.None, CultureInfo.InvariantCulture, out int velocity):
                return new HearStroke(PieceId(piece), heard, velocity);
            case ["confirm", var piece, var place]:
                return new ConfirmStroke(Stroke(piece, place, performance));
            case ["meter", var meter]:
                return new ChangeMeter(meter);
            case ["meter", var meter, "in", var bars] when Bars(bars) is { } range:
                return new ChangeMeter(meter) { FirstBar = range.First, LastBar = range.Last };
            case ["meter", var meter, "from", var bar] when Bars(bar) is { } from && from.First == from.Last:
                return new ChangeMeter(meter) { FirstBar = from.First };
            case ["join", var bars] when Bars(bars) is { } range:
                return new JoinBars(range.First, range.Last);
            case ["split", var bar, "after", var beats] when Bars(bar) is { } one && one.First == one.Last && int.TryParse(beats, NumberStyles.None, CultureInfo.InvariantCulture, out int after):
                return new SplitBar(one.First, after);
            case ["bar-lines", var beats] when int.TryParse(beats, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int shift):
                return new ShiftBarLines(shift);
            case ["divide", var bars, "by", var places] when Bars(bars) is { } range && int.TryParse(places, NumberStyles.None, CultureInfo.InvariantCulture, out int perBeat):
                return new Resubdivide(range.First, range.Last, perBeat);
            case ["swing", var writing] when Array.Exists(Writings, pair => pair.Word == writing):
                return new WriteSwing(Array.Find(Writings, pair => pair.Word == writing).Writing);
            case ["repeats", "on" or "off" or "alike"]:
                return new WriteRepeats(words[1] != "off") { Alike = words[1] == "alike" };
            case ["line", var piece, { Length: 2 } place] when char.IsAsciiLetterUpper(place[0]) && char.IsAsciiDigit(place[1]):
                return new PlacePiece(PieceId(piece), place[0].ToString(), place[1] - '0', null);
            case ["line", var piece, { Length: 2 } place, var head] when char.IsAsciiLetterUpper(place[0]) && char.IsAsciiDigit(place[1]):
                return new PlacePiece(PieceId(piece), place[0].ToString(), place[1] - '0', head);
            default:
                throw new InputException($"'{text}' is not an edit; write one like 'add hat-closed 1.4&', 'delete snare 3.2a', 'move kick 2.3 to 2.3e', 'rename snare 1.2 to cross-stick', 'mark snare 1.2a ghost', 'meter 6/8' or 'bar 3 in 4/4; kick: 1, 3; snare: 2, 4'.");
        }
    }

    /// <summary>A kept edit as it could be typed.</summary>
    public static string Write(ChartEdit edit) => edit switch
    {
        AddStroke add => $"add {add.Piece} {Word(add.At)}" + (add.Velocity == BarText.UnsaidVelocity ? "" : Text($" @{add.Velocity}")),
        DeleteStroke delete => $"delete {Word(delete.Stroke)}",
        MoveStroke move => $"move {Word(move.Stroke)} to {Word(move.To)}",
        RepieceStroke rename => $"rename {Word(rename.Stroke)} to {rename.Piece}",
        MarkStroke mark => $"{(mark.On ? "mark" : "unmark")} {Word(mark.Stroke)} {mark.Mark}",
        ShiftStroke shift => $"shift {Word(shift.Stroke)} to {Text($"{shift.To:0.0000}s")}",
        HearStroke heard => $"hear {heard.Piece} {Text($"{heard.Time:0.0000}s")}" + (heard.Velocity is { } loud ? Text($" @{loud}") : ""),
        ConfirmStroke confirm => $"confirm {Word(confirm.Stroke)}",
        ChangeMeter meter => $"meter {meter.Meter}" + (meter.FirstBar is not { } from ? "" : meter.LastBar is { } last ? Text($" in {from}-{last}") : Text($" from {from}")),
        JoinBars join => Text($"join {join.FirstBar}-{join.LastBar}"),
        SplitBar split => Text($"split {split.Bar} after {split.AfterBeat}"),
        PlacePiece line => Text($"line {line.Piece} {line.Step}{line.Octave}") + (line.Head is null ? "" : " " + line.Head),
        ShiftBarLines lines => Text($"bar-lines {lines.Beats:+0;-0;0}"),
        Resubdivide divide => Text($"divide {divide.FirstBar}-{divide.LastBar} by {divide.PlacesABeat}"),
        WriteSwing swing => $"swing {Array.Find(Writings, pair => pair.Writing == swing.Writing).Word}",
        WriteRepeats repeats => $"repeats {(!repeats.Folded ? "off" : repeats.Alike ? "alike" : "on")}",
        TypeBar bar => bar.Text.Trim().ReplaceLineEndings("; "),
        _ => throw new ArgumentOutOfRangeException(nameof(edit), edit, "This edit has no words."),
    };

    /// <summary>An edit in two or three words, without its numbers: "snare moved in time".</summary>
    public static string Brief(ChartEdit edit) => edit switch
    {
        AddStroke add => $"{Named(add.Piece)} added",
        HearStroke heard => $"{Named(heard.Piece)} added",
        DeleteStroke delete => $"{Named(delete.Stroke.Piece)} deleted",
        MoveStroke move => $"{Named(move.Stroke.Piece)} written elsewhere",
        ShiftStroke shift => $"{Named(shift.Stroke.Piece)} moved in time",
        RepieceStroke turned => $"{Named(turned.Stroke.Piece)} made {Named(turned.Piece)}",
        ConfirmStroke confirm => $"{Named(confirm.Stroke.Piece)} confirmed",
        MarkStroke mark => $"{mark.Mark} {(mark.On ? "set" : "taken away")}",
        TypeBar => "bar typed",
        WriteSwing => "how swing is written",
        WriteRepeats => "repeats",
        Resubdivide => "subdivision",
        ChangeMeter => "meter",
        PlacePiece line => $"line of the {Named(line.Piece)}",
        _ => "bar lines",
    };

    private static string Named(string id) => KitPieces.TryParse(id, out KitPiece piece) ? piece.Name() : id;

    private static double? Seconds(string word) =>
        double.TryParse(word, NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) && double.IsFinite(seconds) ? seconds : null;

    private static string PieceId(string word) => StrokeEdits.PieceOf(word).Id();

    private static EditPlace Place(string word, Performance performance) => EditPlace.Of(Position(word, performance));

    private static BarPosition Position(string word, Performance performance)
    {
        string[] parts = word.Split('.', 2);
        return parts.Length == 2 && int.TryParse(parts[0], NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int bar)
            && BarText.ParsePlace(parts[1], bar, performance.Pulse.MeterAt(bar)) is { } place
            ? place
            : throw new InputException($"'{word}' is not a place in bars of {performance.Meter}; write bar and count, like 3.2, 3.2&, 3.2a or 3.2+1/3.");
    }

    /// <summary>The stroke at a place, or, with an "s" behind the number, at a time. Of a flam the main stroke, which comes last.</summary>
    private static StrokeRef Stroke(string pieceWord, string word, Performance performance)
    {
        KitPiece piece = StrokeEdits.PieceOf(pieceWord);
        if (word[^1] == 's' && double.TryParse(word[..^1], NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) && double.IsFinite(seconds))
            return new StrokeRef(piece.Id(), seconds);
        BarPosition place = Position(word, performance);
        Hit hit = performance.Hits.LastOrDefault(hit => hit.Piece == piece && hit.Position == place)
            ?? throw new InputException($"There is no {piece.Name()} stroke at {word}; bar {place.Bar} has {Written(performance, piece, place.Bar)}.");
        return new StrokeRef(piece.Id(), hit.Time.TotalSeconds);
    }

    private static string Written(Performance performance, KitPiece piece, int bar)
    {
        string[] places = [.. BarText.Of(performance, bar).Strokes.Where(stroke => stroke.Piece == piece).Select(stroke => BarText.WritePlace(stroke.Position)).Distinct()];
        return places.Length == 0 ? "none of it" : $"it on {string.Join(", ", places)}";
    }

    private static (int First, int Last)? Bars(string word)
    {
        string[] parts = word.Split('-');
        return int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int first)
            && int.TryParse(parts[^1], NumberStyles.None, CultureInfo.InvariantCulture, out int last) && parts.Length <= 2 && first <= last
            ? (first, last)
            : null;
    }

    private static string Word(EditPlace place) => Text($"{place.Bar}.{BarText.WritePlace(new BarPosition(place.Bar, place.Beat, Fraction.Parse(place.Within)))}");

    private static string Word(StrokeRef stroke) => Text($"{stroke.Piece} {stroke.Time:0.0000}s");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
