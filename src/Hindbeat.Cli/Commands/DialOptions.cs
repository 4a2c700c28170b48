using System.CommandLine;
using System.Globalization;
using System.Text.RegularExpressions;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Cli.Commands;

/// <summary>The options that say how much of a feel a rebuild keeps, and at which tempo.</summary>
internal sealed partial class DialOptions
{
    private readonly Option<string?> _version = new("--version")
    {
        Description = $"A ready version to start from: {string.Join(", ", Dials.Ready.Keys)}.",
        HelpName = "NAME",
    };

    private readonly Option<double?> _feel = Percent("--feel", "All of the feel at once");
    private readonly Option<double?> _swing = Percent("--swing", "Swing");
    private readonly Option<double?> _layBack = Percent("--lay-back", "Lay-back of every piece");
    private readonly Option<double?> _habits = Percent("--habits", "What a piece does at one place of the bar again and again");
    private readonly Option<double?> _looseness = Percent("--looseness", "What is left of each stroke's own deviation");
    private readonly Option<double?> _touch = Percent("--touch", "Pattern of loudness");
    private readonly Option<double?> _breath = Percent("--tempo-breath", "Breath of the tempo");
    private readonly Option<double?> _swingTo = SharedOptions.Number("--swing-to", "Swing set to a ratio, long : short, instead of a share of what was played.", 1, Dials.LargestRatio);
    private readonly Option<string> _swingLevel = new("--swing-level") { Description = "What --swing-to swings: 8th or 16th.", DefaultValueFactory = _ => "16th" };
    private readonly Option<string[]> _pieces = new("--piece")
    {
        Description = "One piece's lay-back: kick=150 (percent of its own) or kick=+15ms (set). May be given several times.",
        HelpName = "PIECE=AMOUNT",
    };

    private readonly Option<double?> _tempo = SharedOptions.Number("--tempo", "Mean tempo of the rebuild, bpm.", Dials.SlowestBpm, Dials.FastestBpm);
    private readonly Option<string> _scale = new("--feel-by")
    {
        Description = "At another tempo the feel keeps its share of the beat (swing ratios stay) or its time (milliseconds stay): beat or time.",
        DefaultValueFactory = _ => "beat",
    };

    private readonly Option<ulong?> _fresh = new("--fresh-looseness") { Description = "Draw the looseness anew, with the drummer's spread, from this seed.", HelpName = "SEED" };

    public DialOptions()
    {
        _version.AcceptOnlyFromAmong([.. Dials.Ready.Keys]);
        _swingLevel.AcceptOnlyFromAmong("8th", "16th");
        _scale.AcceptOnlyFromAmong("beat", "time");
    }

    /// <summary>In the order of the help.</summary>
    public IEnumerable<Option> All =>
        [_version, _feel, _swing, _layBack, _habits, _looseness, _touch, _breath, _swingTo, _swingLevel, _pieces, _tempo, _scale, _fresh];

    /// <summary>What a set asks for its versions itself.</summary>
    public IEnumerable<Option> OfOneVersion => All.Except([_tempo, _scale, _fresh]);

    public void AddRules(OptionRules rules)
    {
        rules.Excludes(_version, [_feel]);
        rules.Excludes(_swingTo, [_swing]);
        rules.Needs(_swingLevel, _swingTo);
        rules.Needs(_scale, _tempo);
    }

    /// <summary>The dials as typed, on top of a version that may be given.</summary>
    /// <exception cref="InputException">A piece's amount cannot be read.</exception>
    public Dials Read(ParseResult parsed)
    {
        Dials dials = parsed.GetValue(_version) is { } name ? Dials.Ready[name] : Dials.AsPlayed;
        if (parsed.GetValue(_feel) is { } all)
            dials = new Dials { Swing = all / 100, LayBack = all / 100, Habits = all / 100, Looseness = all / 100, Touch = all / 100, Tempo = all / 100 };
        return OnTop(parsed, dials with
        {
            Swing = parsed.GetValue(_swing) / 100 ?? dials.Swing,
            LayBack = parsed.GetValue(_layBack) / 100 ?? dials.LayBack,
            Habits = parsed.GetValue(_habits) / 100 ?? dials.Habits,
            Looseness = parsed.GetValue(_looseness) / 100 ?? dials.Looseness,
            Touch = parsed.GetValue(_touch) / 100 ?? dials.Touch,
            Tempo = parsed.GetValue(_breath) / 100 ?? dials.Tempo,
            SwingTo = parsed.GetValue(_swingTo) is { } ratio
                ? new SwingSetting(parsed.GetValue(_swingLevel) == "8th" ? SwingLevel.Eighth : SwingLevel.Sixteenth, ratio)
                : null,
            Pieces = (parsed.GetValue(_pieces) ?? []).Select(ReadPiece).GroupBy(pair => pair.Piece).ToDictionary(group => group.Key, group => group.Last().Dial),
        });
    }

    /// <summary>Tempo and fresh looseness, which go with every version of a set.</summary>
    public Dials OnTop(ParseResult parsed, Dials dials) => dials with
    {
        TempoTo = parsed.GetValue(_tempo) is { } bpm ? Bpm.Of(bpm) : null,
        FeelScale = parsed.GetValue(_scale) == "time" ? FeelScale.ByTime : FeelScale.ByBeat,
        FreshLooseness = parsed.GetValue(_fresh),
    };

    /// <summary>What the dials say, in one line.</summary>
    public static string Describe(Dials dials)
    {
        string swing = dials.SwingTo is { } set ? Text($"{set.Ratio:0.##} : 1") : Text($"{100 * dials.Swing:0.#} %");
        string pieces = string.Concat(dials.Pieces.OrderBy(pair => pair.Key).Select(pair => pair.Value.LayBackTo is { } ms
            ? Text($" ({pair.Key.Name()} {ms.Milliseconds:+0.#;-0.#;0} ms)")
            : Text($" ({pair.Key.Name()} {100 * (pair.Value.LayBack ?? dials.LayBack):0.#} %)")));
        string fresh = dials.FreshLooseness is null ? string.Empty : " drawn anew";
        string tempo = dials.TempoTo is { } to ? Text($", at {to.Value:0.#} bpm with the feel kept by {(dials.FeelScale == FeelScale.ByTime ? "time" : "beat")}") : string.Empty;
        return Text($"swing {swing}, lay-back {100 * dials.LayBack:0.#} %{pieces}, habits {100 * dials.Habits:0.#} %, looseness {100 * dials.Looseness:0.#} %{fresh}, touch {100 * dials.Touch:0.#} %, tempo breath {100 * dials.Tempo:0.#} %{tempo}");
    }

    private static string Text(FormattableString text) => FormattableString.Invariant(text);

    private static (KitPiece Piece, PieceDial Dial) ReadPiece(string text)
    {
        Match parts = PieceAmount().Match(text);
        if (!parts.Success || !KitPieces.TryParse(parts.Groups["piece"].Value, out KitPiece piece)
            || !double.TryParse(parts.Groups["number"].Value, NumberStyles.Float, CultureInfo.InvariantCulture, out double amount))
            throw new InputException($"--piece: '{text}' does not fit; write kick=150 (percent) or kick=+15ms, the pieces {string.Join(", ", KitPieces.All.Select(each => each.Id()))}.");
        return (piece, parts.Groups["ms"].Success ? new PieceDial(LayBackTo: Seconds.FromMilliseconds(amount)) : new PieceDial(LayBack: amount / 100));
    }

    private static Option<double?> Percent(string name, string what) =>
        SharedOptions.Number(name, $"{what}, percent: 0 as written, 100 as played, up to 200.", 0, 200);

    [GeneratedRegex("^(?<piece>[a-z-]+?)=(?<number>[+-]?[0-9]+(\\.[0-9]+)?)\\s*((?<ms>ms)|%)?$")]
    private static partial Regex PieceAmount();
}
