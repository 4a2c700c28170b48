namespace Hindbeat.Performances;

/// <summary>
/// A reason to trust a result less, shown beside it. Each kind of doubt is a small type of its own in
/// the layer that raises it; the text is one sentence that a drummer understands.
/// </summary>
public abstract record Doubt
{
    /// <summary>One sentence, ending with a full stop.</summary>
    public abstract string Text { get; }

    public sealed override string ToString() => Text;
}
