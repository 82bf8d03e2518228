

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_line_ends(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, i64 %arg.size, ptr writeonly %arg.ends) unnamed_addr #0 {
B0:
  %.23 = icmp sgt i64 %arg.size, 0
  br i1 %.23, label %B26.preheader, label %B808

B26.preheader:                                    ; preds = %B0
  %0 = add nsw i64 %arg.size, -1
  %1 = lshr i64 %0, 6
  %2 = icmp eq i64 %1, 0
  br i1 %2, label %B26.epil.preheader, label %B26.preheader.new

B26.preheader.new:                                ; preds = %B26.preheader
  %3 = add nuw nsw i64 %1, 1
  %unroll_iter = and i64 %3, 576460752303423486
  %scevgep4 = getelementptr i8, ptr %arg.ends, i64 16
  br label %B26

B26:                                              ; preds = %B774.1, %B26.preheader.new
  %n.2.0 = phi i64 [ 0, %B26.preheader.new ], [ %.130.1, %B774.1 ]
  %at.2.0 = phi i64 [ 0, %B26.preheader.new ], [ %.45.1, %B774.1 ]
  %niter = phi i64 [ 0, %B26.preheader.new ], [ %niter.next.1, %B774.1 ]
  %.32 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0
  %.34 = load <64 x i8>, ptr %.32, align 1
  %.35 = icmp eq <64 x i8> %.34, splat (i8 10)
  %.36 = bitcast <64 x i1> %.35 to i64
  %.45 = or disjoint i64 %at.2.0, 64
  %.47 = icmp slt i64 %arg.size, %.45
  %.51 = sub nsw i64 %arg.size, %at.2.0
  %notmask = shl nsw i64 -1, %.51
  %.53 = xor i64 %notmask, -1
  %.55 = select i1 %.47, i64 %.53, i64 -1
  %found.5.1 = and i64 %.55, %.36
  %.64 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1)
  %.69 = or i64 %found.5.1, -9223372036854775808
  %.70 = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69, i1 true)
  %.72 = or disjoint i64 %.70, %at.2.0
  %.75 = getelementptr i64, ptr %arg.ends, i64 %n.2.0
  store i64 %.72, ptr %.75, align 8
  %.78 = add i64 %found.5.1, -1
  %.80 = and i64 %.78, %found.5.1
  %.83 = or i64 %.80, -9223372036854775808
  %.84 = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83, i1 true)
  %.86 = or disjoint i64 %.84, %at.2.0
  %.90 = getelementptr i8, ptr %.75, i64 8
  store i64 %.86, ptr %.90, align 8
  %.92 = add i64 %.80, -1
  %.93 = and i64 %.92, %.80
  %.102.not = icmp eq i64 %.93, 0
  br i1 %.102.not, label %B774, label %B606.preheader

B606.preheader:                                   ; preds = %B26
  %4 = shl i64 %n.2.0, 3
  %scevgep5 = getelementptr i8, ptr %scevgep4, i64 %4
  br label %B606

B606:                                             ; preds = %B606, %B606.preheader
  %lsr.iv6 = phi ptr [ %scevgep5, %B606.preheader ], [ %scevgep7, %B606 ]
  %found.6.1 = phi i64 [ %.93, %B606.preheader ], [ %.119, %B606 ]
  %.105 = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1, i1 true)
  %.107 = or disjoint i64 %.105, %at.2.0
  store i64 %.107, ptr %lsr.iv6, align 8
  %.117 = add i64 %found.6.1, -1
  %.119 = and i64 %.117, %found.6.1
  %.122.not = icmp eq i64 %.119, 0
  %scevgep7 = getelementptr i8, ptr %lsr.iv6, i64 8
  br i1 %.122.not, label %B774, label %B606

B774:                                             ; preds = %B606, %B26
  %.130 = add nuw nsw i64 %.64, %n.2.0
  %.32.1 = getelementptr inbounds nuw i8, ptr %arg.b, i64 %.45
  %.34.1 = load <64 x i8>, ptr %.32.1, align 1
  %.35.1 = icmp eq <64 x i8> %.34.1, splat (i8 10)
  %.36.1 = bitcast <64 x i1> %.35.1 to i64
  %.45.1 = add nuw nsw i64 %at.2.0, 128
  %.47.1 = icmp sgt i64 %.45.1, %arg.size
  %.51.1 = sub nsw i64 %arg.size, %.45
  %notmask.1 = shl nsw i64 -1, %.51.1
  %.53.1 = xor i64 %notmask.1, -1
  %.55.1 = select i1 %.47.1, i64 %.53.1, i64 -1
  %found.5.1.1 = and i64 %.55.1, %.36.1
  %.64.1 = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1.1)
  %.69.1 = or i64 %found.5.1.1, -9223372036854775808
  %.70.1 = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69.1, i1 true)
  %.72.1 = or disjoint i64 %.70.1, %.45
  %.75.1 = getelementptr i64, ptr %arg.ends, i64 %.130
  store i64 %.72.1, ptr %.75.1, align 8
  %.78.1 = add i64 %found.5.1.1, -1
  %.80.1 = and i64 %.78.1, %found.5.1.1
  %.83.1 = or i64 %.80.1, -9223372036854775808
  %.84.1 = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83.1, i1 true)
  %.86.1 = or disjoint i64 %.84.1, %.45
  %.90.1 = getelementptr i8, ptr %.75.1, i64 8
  store i64 %.86.1, ptr %.90.1, align 8
  %.92.1 = add i64 %.80.1, -1
  %.93.1 = and i64 %.92.1, %.80.1
  %.102.not.1 = icmp eq i64 %.93.1, 0
  br i1 %.102.not.1, label %B774.1, label %B606.preheader.1

B606.preheader.1:                                 ; preds = %B774
  %5 = shl i64 %.130, 3
  %scevgep9 = getelementptr i8, ptr %scevgep4, i64 %5
  br label %B606.1

B606.1:                                           ; preds = %B606.1, %B606.preheader.1
  %lsr.iv10 = phi ptr [ %scevgep11, %B606.1 ], [ %scevgep9, %B606.preheader.1 ]
  %found.6.1.1 = phi i64 [ %.119.1, %B606.1 ], [ %.93.1, %B606.preheader.1 ]
  %.105.1 = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1.1, i1 true)
  %.107.1 = or disjoint i64 %.105.1, %.45
  store i64 %.107.1, ptr %lsr.iv10, align 8
  %.117.1 = add i64 %found.6.1.1, -1
  %.119.1 = and i64 %.117.1, %found.6.1.1
  %.122.not.1 = icmp eq i64 %.119.1, 0
  %scevgep11 = getelementptr i8, ptr %lsr.iv10, i64 8
  br i1 %.122.not.1, label %B774.1, label %B606.1

B774.1:                                           ; preds = %B606.1, %B774
  %.130.1 = add nuw nsw i64 %.64.1, %.130
  %niter.next.1 = add i64 %niter, 2
  %niter.ncmp.1.not = icmp eq i64 %niter.next.1, %unroll_iter
  br i1 %niter.ncmp.1.not, label %B808.loopexit.unr-lcssa, label %B26

B808.loopexit.unr-lcssa:                          ; preds = %B774.1
  %6 = and i64 %0, 64
  %lcmp.mod.not.not = icmp eq i64 %6, 0
  br i1 %lcmp.mod.not.not, label %B26.epil.preheader, label %B808

B26.epil.preheader:                               ; preds = %B808.loopexit.unr-lcssa, %B26.preheader
  %n.2.0.epil.init = phi i64 [ 0, %B26.preheader ], [ %.130.1, %B808.loopexit.unr-lcssa ]
  %at.2.0.epil.init = phi i64 [ 0, %B26.preheader ], [ %.45.1, %B808.loopexit.unr-lcssa ]
  %.32.epil = getelementptr inbounds nuw i8, ptr %arg.b, i64 %at.2.0.epil.init
  %.34.epil = load <64 x i8>, ptr %.32.epil, align 1
  %.35.epil = icmp eq <64 x i8> %.34.epil, splat (i8 10)
  %.36.epil = bitcast <64 x i1> %.35.epil to i64
  %.45.epil = add nuw nsw i64 %at.2.0.epil.init, 64
  %.47.epil = icmp sgt i64 %.45.epil, %arg.size
  %.51.epil = sub nsw i64 %arg.size, %at.2.0.epil.init
  %notmask.epil = shl nsw i64 -1, %.51.epil
  %.53.epil = xor i64 %notmask.epil, -1
  %.55.epil = select i1 %.47.epil, i64 %.53.epil, i64 -1
  %found.5.1.epil = and i64 %.55.epil, %.36.epil
  %.64.epil = tail call range(i64 0, 65) i64 @llvm.ctpop.i64(i64 %found.5.1.epil)
  %.69.epil = or i64 %found.5.1.epil, -9223372036854775808
  %.70.epil = tail call range(i64 0, 64) i64 @llvm.cttz.i64(i64 %.69.epil, i1 true)
  %.72.epil = or disjoint i64 %.70.epil, %at.2.0.epil.init
  %.75.epil = getelementptr i64, ptr %arg.ends, i64 %n.2.0.epil.init
  store i64 %.72.epil, ptr %.75.epil, align 8
  %.78.epil = add i64 %found.5.1.epil, -1
  %.80.epil = and i64 %.78.epil, %found.5.1.epil
  %.83.epil = or i64 %.80.epil, -9223372036854775808
  %.84.epil = tail call range(i64 1, 64) i64 @llvm.cttz.i64(i64 %.83.epil, i1 true)
  %.86.epil = or disjoint i64 %.84.epil, %at.2.0.epil.init
  %.90.epil = getelementptr i8, ptr %.75.epil, i64 8
  store i64 %.86.epil, ptr %.90.epil, align 8
  %.92.epil = add i64 %.80.epil, -1
  %.93.epil = and i64 %.92.epil, %.80.epil
  %.102.not.epil = icmp eq i64 %.93.epil, 0
  br i1 %.102.not.epil, label %B774.epil, label %B606.preheader.epil

B606.preheader.epil:                              ; preds = %B26.epil.preheader
  %7 = shl i64 %n.2.0.epil.init, 3
  %8 = getelementptr i8, ptr %arg.ends, i64 %7
  %scevgep = getelementptr i8, ptr %8, i64 16
  br label %B606.epil

B606.epil:                                        ; preds = %B606.epil, %B606.preheader.epil
  %lsr.iv = phi ptr [ %scevgep3, %B606.epil ], [ %scevgep, %B606.preheader.epil ]
  %found.6.1.epil = phi i64 [ %.119.epil, %B606.epil ], [ %.93.epil, %B606.preheader.epil ]
  %.105.epil = tail call range(i64 1, 65) i64 @llvm.cttz.i64(i64 %found.6.1.epil, i1 true)
  %.107.epil = or disjoint i64 %.105.epil, %at.2.0.epil.init
  store i64 %.107.epil, ptr %lsr.iv, align 8
  %.117.epil = add i64 %found.6.1.epil, -1
  %.119.epil = and i64 %.117.epil, %found.6.1.epil
  %.122.not.epil = icmp eq i64 %.119.epil, 0
  %scevgep3 = getelementptr i8, ptr %lsr.iv, i64 8
  br i1 %.122.not.epil, label %B774.epil, label %B606.epil

B774.epil:                                        ; preds = %B606.epil, %B26.epil.preheader
  %.130.epil = add nuw nsw i64 %.64.epil, %n.2.0.epil.init
  br label %B808

B808:                                             ; preds = %B774.epil, %B808.loopexit.unr-lcssa, %B0
  %n.3.1 = phi i64 [ 0, %B0 ], [ %.130.1, %B808.loopexit.unr-lcssa ], [ %.130.epil, %B774.epil ]
  store i64 %n.3.1, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.ctpop.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.cttz.i64(i64, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @line_ends(ptr readonly %.1, i64 %.2, ptr writeonly %.3) local_unnamed_addr #0 {
entry:
  %.5 = alloca i64, align 8
  store i64 0, ptr %.5, align 8
  call fastcc void @inside_line_ends(ptr nonnull %.5, ptr %.1, i64 %.2, ptr %.3) #4
  %.19 = load i64, ptr %.5, align 8
  ret i64 %.19
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_can_text(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.b, i64 %arg.used, ptr readonly %arg.ends, i64 %arg.n, i64 %arg.layouts, ptr readonly %arg.size, ptr readonly %arg.bus, ptr readonly %arg.whole, ptr readonly %arg.fraction, ptr readonly %arg.worth, ptr readonly %arg.seconds, ptr readonly %arg.form, ptr readonly %arg.hexadecimal, i64 %arg.latest_ns, ptr writeonly %arg.kept, ptr writeonly %arg.t_ns, ptr writeonly %arg.can_id, ptr writeonly %arg.flags, ptr writeonly %arg.out_bus, ptr writeonly %arg.length, ptr writeonly %arg.data, ptr writeonly %arg.left) unnamed_addr #0 {
B0.endif:
  %arg.layouts.fr = freeze i64 %arg.layouts
  %.arg.n = tail call i64 @llvm.smax.i64(i64 %arg.n, i64 0)
  %.173713.not = icmp slt i64 %arg.n, 1
  br i1 %.173713.not, label %common.ret, label %B148.lr.ph

B148.lr.ph:                                       ; preds = %B0.endif
  %.427677 = icmp sgt i64 %arg.layouts.fr, 0
  %.217.us777 = load i64, ptr %arg.ends, align 8
  %.229.us778 = icmp slt i64 %.217.us777, 0
  %.233.us779 = icmp sge i64 %.217.us777, %arg.used
  %or.cond.us780 = select i1 %.229.us778, i1 true, i1 %.233.us779
  br i1 %.427677, label %B148.lr.ph.split.us, label %B148.lr.ph.split

B148.lr.ph.split.us:                              ; preds = %B148.lr.ph
  br i1 %or.cond.us780, label %common.ret, label %B200.us.preheader

B200.us.preheader:                                ; preds = %B148.lr.ph.split.us
  %scevgep = getelementptr i8, ptr %arg.b, i64 8
  %scevgep40 = getelementptr i8, ptr %arg.b, i64 1
  br label %B200.us

B148.us:                                          ; preds = %B2626.us
  %.186.us = add nuw i64 %.186.us792, 1
  %.216.us = getelementptr i64, ptr %arg.ends, i64 %.186.us792
  %.217.us = load i64, ptr %.216.us, align 8
  %.229.us = icmp sle i64 %.217.us, %.217.us793
  %.233.us = icmp sge i64 %.217.us, %arg.used
  %or.cond.us = select i1 %.229.us, i1 true, i1 %.233.us
  br i1 %or.cond.us, label %common.ret, label %B200.us

B200.us:                                          ; preds = %B148.us, %B200.us.preheader
  %.217.us793 = phi i64 [ %.217.us, %B148.us ], [ %.217.us777, %B200.us.preheader ]
  %.186.us792 = phi i64 [ %.186.us, %B148.us ], [ 1, %B200.us.preheader ]
  %.179693718.us788 = phi i64 [ %.186.us792, %B148.us ], [ 0, %B200.us.preheader ]
  %n_left.2.0721.us787 = phi i64 [ %n_left.3.1.us, %B148.us ], [ 0, %B200.us.preheader ]
  %last.2.0722.us786 = phi i64 [ %last.3.1552.us, %B148.us ], [ 0, %B200.us.preheader ]
  %begin.2.0723.us785 = phi i64 [ %.306.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_high.2.0724.us784 = phi i64 [ %seen_high.3.1554.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_low.2.0725.us783 = phi i64 [ %seen_low.3.1556.us, %B148.us ], [ 0, %B200.us.preheader ]
  %seen_layout.2.0726.us782 = phi i64 [ %seen_layout.3.1558.us, %B148.us ], [ -1, %B200.us.preheader ]
  %seen_ns.3.0727.us781 = phi i64 [ %seen_ns.4.1560.us, %B148.us ], [ 0, %B200.us.preheader ]
  %.306.us = add nuw nsw i64 %.217.us793, 1
  %.312.us = icmp sgt i64 %.217.us793, %begin.2.0723.us785
  br i1 %.312.us, label %B222.us, label %B262.endif.us

B222.us:                                          ; preds = %B200.us
  %.318.us = add nsw i64 %.217.us793, -1
  %.320.us = getelementptr i8, ptr %arg.b, i64 %.318.us
  %.321.us = load i8, ptr %.320.us, align 1
  %.323.us = icmp eq i8 %.321.us, 13
  %spec.select.us = select i1 %.323.us, i64 %.318.us, i64 %.217.us793
  br label %B262.endif.us

B262.endif.us:                                    ; preds = %B222.us, %B200.us
  %end.2.1.us = phi i64 [ %.217.us793, %B200.us ], [ %spec.select.us, %B222.us ]
  %.473.us = getelementptr i8, ptr %arg.b, i64 %begin.2.0723.us785
  %.475.us = load <32 x i8>, ptr %.473.us, align 1
  %0 = bitcast <32 x i8> %.475.us to i256
  %1 = lshr i256 %0, 8
  %2 = trunc i256 %1 to i64
  %3 = lshr i256 %0, 72
  %4 = trunc i256 %3 to i64
  %sunkaddr46 = getelementptr i8, ptr %.473.us, i64 32
  br label %B302.us

B302.us:                                          ; preds = %B432.us, %B262.endif.us
  %lsr.iv = phi i64 [ %arg.layouts.fr, %B262.endif.us ], [ %lsr.iv.next, %B432.us ]
  %k.2.1680.us = phi i64 [ %last.2.0722.us786, %B262.endif.us ], [ %spec.select666.us, %B432.us ]
  %.468.us = shl nsw i64 %k.2.1680.us, 7
  %.476.us = getelementptr i8, ptr %arg.form, i64 %.468.us
  %.478.us = load <32 x i8>, ptr %.476.us, align 1
  %.479.us = sub <32 x i8> %.475.us, %.478.us
  %.480.us = getelementptr i8, ptr %.476.us, i64 32
  %.482.us = load <32 x i8>, ptr %.480.us, align 1
  %5 = icmp ugt <32 x i8> %.479.us, %.482.us
  %6 = bitcast <32 x i1> %5 to i32
  %.485.us = icmp eq i32 %6, 0
  br i1 %.485.us, label %B346.us, label %B432.us

B346.us:                                          ; preds = %B302.us
  %.492.us = getelementptr i64, ptr %arg.size, i64 %k.2.1680.us
  %.493.us = load i64, ptr %.492.us, align 8
  %.494.us = icmp slt i64 %.493.us, 33
  br i1 %.494.us, label %B472.us, label %B422.us

B422.us:                                          ; preds = %B346.us
  %.508.us = load <32 x i8>, ptr %sunkaddr46, align 1
  %sunkaddr48 = getelementptr i8, ptr %.476.us, i64 64
  %.511.us = load <32 x i8>, ptr %sunkaddr48, align 1
  %.512.us = sub <32 x i8> %.508.us, %.511.us
  %sunkaddr50 = getelementptr i8, ptr %.476.us, i64 96
  %.515.us = load <32 x i8>, ptr %sunkaddr50, align 1
  %7 = icmp ugt <32 x i8> %.512.us, %.515.us
  %8 = bitcast <32 x i1> %7 to i32
  %.518.us = icmp eq i32 %8, 0
  br i1 %.518.us, label %B472.us, label %B432.us

B432.us:                                          ; preds = %B422.us, %B302.us
  %.539.us = add nsw i64 %k.2.1680.us, 1
  %.541.us = icmp slt i64 %.539.us, %arg.layouts.fr
  %spec.select666.us = select i1 %.541.us, i64 %.539.us, i64 0
  %lsr.iv.next = add nsw i64 %lsr.iv, -1
  %exitcond810.not = icmp eq i64 %lsr.iv.next, 0
  br i1 %exitcond810.not, label %B2606.us, label %B302.us

B472.us:                                          ; preds = %B422.us, %B346.us
  %.621.us = getelementptr i64, ptr %arg.whole, i64 %k.2.1680.us
  %.622.us = load i64, ptr %.621.us, align 8
  %.636.us.idx = shl i64 %k.2.1680.us, 4
  %.636.us = getelementptr i8, ptr %arg.seconds, i64 %.636.us.idx
  %.637.us = load i64, ptr %.636.us, align 8
  %.638.us = and i64 %.637.us, %2
  %.652.us = getelementptr i8, ptr %.636.us, i64 8
  %.653.us = load i64, ptr %.652.us, align 8
  %.654.us = and i64 %.653.us, %4
  %.660.us = icmp ne i64 %.638.us, %seen_high.2.0724.us784
  %.664.us = icmp ne i64 %.654.us, %seen_low.2.0725.us783
  %or.cond667.us = select i1 %.660.us, i1 true, i1 %.664.us
  %.690.us = icmp ne i64 %k.2.1680.us, %seen_layout.2.0726.us782
  %or.cond668.us = select i1 %or.cond667.us, i1 true, i1 %.690.us
  br i1 %or.cond668.us, label %B670.endif.us, label %B904.us

B670.endif.us:                                    ; preds = %B472.us
  %.796684.us.not = icmp slt i64 %.622.us, 1
  br i1 %.796684.us.not, label %B904.us, label %B744.us.preheader

B744.us.preheader:                                ; preds = %B670.endif.us
  %xtraiter = and i64 %.622.us, 7
  %9 = icmp ult i64 %.622.us, 8
  br i1 %9, label %B744.us.epil.preheader, label %B744.us.preheader.new

B744.us.preheader.new:                            ; preds = %B744.us.preheader
  %unroll_iter = and i64 %.622.us, 9223372036854775800
  %scevgep24 = getelementptr i8, ptr %scevgep, i64 %begin.2.0723.us785
  br label %B744.us

B846.us.loopexit.unr-lcssa:                       ; preds = %B744.us
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B846.us.loopexit, label %B744.us.epil.preheader

B744.us.epil.preheader:                           ; preds = %B846.us.loopexit.unr-lcssa, %B744.us.preheader
  %t.3.3687.us.epil.init = phi i64 [ 0, %B744.us.preheader ], [ %.844.us.7, %B846.us.loopexit.unr-lcssa ]
  %.802683685.us.epil.init = phi i64 [ 0, %B744.us.preheader ], [ %unroll_iter, %B846.us.loopexit.unr-lcssa ]
  %10 = getelementptr i8, ptr %scevgep40, i64 %begin.2.0723.us785
  %scevgep41 = getelementptr i8, ptr %10, i64 %.802683685.us.epil.init
  br label %B744.us.epil

B744.us.epil:                                     ; preds = %B744.us.epil, %B744.us.epil.preheader
  %t.3.3687.us.epil = phi i64 [ %.844.us.epil, %B744.us.epil ], [ %t.3.3687.us.epil.init, %B744.us.epil.preheader ]
  %epil.iter = phi i64 [ %epil.iter.next, %B744.us.epil ], [ 0, %B744.us.epil.preheader ]
  %.835.us.epil = mul i64 %t.3.3687.us.epil, 10
  %scevgep42 = getelementptr i8, ptr %scevgep41, i64 %epil.iter
  %.841.us.epil = load i8, ptr %scevgep42, align 1
  %11 = and i8 %.841.us.epil, 15
  %12 = zext nneg i8 %11 to i64
  %.844.us.epil = add i64 %.835.us.epil, %12
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %xtraiter, %epil.iter.next
  br i1 %epil.iter.cmp.not, label %B846.us.loopexit, label %B744.us.epil, !llvm.loop !0

B846.us.loopexit:                                 ; preds = %B744.us.epil, %B846.us.loopexit.unr-lcssa
  %.844.us.lcssa = phi i64 [ %.844.us.7, %B846.us.loopexit.unr-lcssa ], [ %.844.us.epil, %B744.us.epil ]
  %13 = mul nsw i64 %.844.us.lcssa, 1000000000
  br label %B904.us

B904.us:                                          ; preds = %B846.us.loopexit, %B670.endif.us, %B472.us
  %seen_high.4.3.us = phi i64 [ %seen_high.2.0724.us784, %B472.us ], [ %.638.us, %B846.us.loopexit ], [ %.638.us, %B670.endif.us ]
  %seen_low.4.3.us = phi i64 [ %seen_low.2.0725.us783, %B472.us ], [ %.654.us, %B846.us.loopexit ], [ %.654.us, %B670.endif.us ]
  %seen_layout.4.3.us = phi i64 [ %seen_layout.2.0726.us782, %B472.us ], [ %k.2.1680.us, %B846.us.loopexit ], [ %k.2.1680.us, %B670.endif.us ]
  %seen_ns.2.3.us = phi i64 [ %seen_ns.3.0727.us781, %B472.us ], [ %13, %B846.us.loopexit ], [ 0, %B670.endif.us ]
  %.881.us = getelementptr i64, ptr %arg.fraction, i64 %k.2.1680.us
  %.882.us = load i64, ptr %.881.us, align 8
  %.883.us = icmp sgt i64 %.882.us, 0
  br i1 %.883.us, label %B958.us, label %B1232.us

B958.us:                                          ; preds = %B904.us
  %spec.select669.us = tail call i64 @llvm.umin.i64(i64 %.882.us, i64 8)
  %14 = getelementptr i8, ptr %arg.b, i64 %.622.us
  %sunkaddr51 = getelementptr i8, ptr %14, i64 %begin.2.0723.us785
  %sunkaddr52 = getelementptr i8, ptr %sunkaddr51, i64 2
  %.913.us = load i64, ptr %sunkaddr52, align 1
  %.915.us = and i64 %.913.us, 1085102592571150095
  %.916.us = shl nuw nsw i64 %spec.select669.us, 3
  %.917.us = sub nuw nsw i64 64, %.916.us
  %.918.us = shl i64 %.915.us, %.917.us
  %.919.us = mul nuw i64 %.918.us, 10
  %.920.us = lshr i64 %.918.us, 8
  %.921.us = add i64 %.919.us, %.920.us
  %.922.us = and i64 %.921.us, 1095216660735
  %.923.us = mul i64 %.922.us, 4294967296000100
  %.924.us = lshr i64 %.921.us, 16
  %.925.us = and i64 %.924.us, 1095216660735
  %.926.us = mul i64 %.925.us, 42949672960001
  %.927.us = add i64 %.926.us, %.923.us
  %.928.us = lshr i64 %.927.us, 32
  %.939.us = icmp samesign ugt i64 %.882.us, 8
  br i1 %.939.us, label %B1140.us, label %B1232.us

B1140.us:                                         ; preds = %B958.us
  %.942.us = mul nuw nsw i64 %.928.us, 10
  %sunkaddr54 = getelementptr i8, ptr %sunkaddr51, i64 10
  %.951.us = load i8, ptr %sunkaddr54, align 1
  %15 = and i8 %.951.us, 15
  %16 = zext nneg i8 %15 to i64
  %.954.us = add nuw nsw i64 %.942.us, %16
  br label %B1232.us

B1232.us:                                         ; preds = %B1140.us, %B958.us, %B904.us
  %parts.3.2.us = phi i64 [ %.954.us, %B1140.us ], [ %.928.us, %B958.us ], [ 0, %B904.us ]
  %.967.us = getelementptr i64, ptr %arg.worth, i64 %k.2.1680.us
  %.968.us = load i64, ptr %.967.us, align 8
  %.969.us = mul nsw i64 %.968.us, %parts.3.2.us
  %.971.us = add nsw i64 %.969.us, %seen_ns.2.3.us
  %.980.us = add nsw i64 %.493.us, %begin.2.0723.us785
  %17 = getelementptr i8, ptr %arg.b, i64 %.980.us
  %.992.us = getelementptr i8, ptr %17, i64 3
  %.993.us = load i8, ptr %.992.us, align 1
  %.995.us = icmp eq i8 %.993.us, 35
  br i1 %.995.us, label %B1352.us, label %B1654.us

B1654.us:                                         ; preds = %B1232.us
  %.1098.us = load <16 x i8>, ptr %17, align 1
  %.1099.us = add <16 x i8> %.1098.us, splat (i8 -48)
  %.1100.us = icmp ult <16 x i8> %.1099.us, splat (i8 10)
  %.1101.us = or <16 x i8> %.1098.us, splat (i8 32)
  %.1102.us = add <16 x i8> %.1101.us, splat (i8 -97)
  %.1103.us = icmp ult <16 x i8> %.1102.us, splat (i8 6)
  %.1104.us = add <16 x i8> %.1101.us, splat (i8 -87)
  %.1105.us = select <16 x i1> %.1103.us, <16 x i8> %.1104.us, <16 x i8> zeroinitializer
  %.1106.us = select <16 x i1> %.1100.us, <16 x i8> %.1099.us, <16 x i8> %.1105.us
  %.1107.us = or <16 x i1> %.1100.us, %.1103.us
  %.1108.us = bitcast <16 x i1> %.1107.us to i16
  %.1113.us = shufflevector <16 x i8> %.1106.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1114.us = shufflevector <16 x i8> %.1106.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1115.us = shl <8 x i8> %.1113.us, splat (i8 4)
  %.1116.us = or <8 x i8> %.1115.us, %.1114.us
  %.1118.us = bitcast <8 x i8> %.1116.us to i64
  %.1129.us = tail call i64 @llvm.bswap.i64(i64 %.1118.us)
  %.1130.us = lshr i64 %.1129.us, 32
  %18 = and i16 %.1108.us, 511
  %.1134.us = icmp eq i16 %18, 255
  br i1 %.1134.us, label %B1858.us, label %B2606.us

B1858.us:                                         ; preds = %B1654.us
  %19 = extractelement <16 x i8> %.1098.us, i64 8
  %.1145.us = icmp eq i8 %19, 35
  %.1150.us = icmp ult i64 %.1129.us, 4611686018427387904
  %spec.select670.us = select i1 %.1145.us, i1 %.1150.us, i1 false
  %.1167.us = add nsw i64 %.980.us, 9
  %.1179.us = icmp ugt i64 %.1129.us, 2305843009213693951
  br i1 %.1179.us, label %B1912.us, label %B1952.us

B1952.us:                                         ; preds = %B1858.us
  br i1 %spec.select670.us, label %B1958.us, label %B2606.us

B1912.us:                                         ; preds = %B1858.us
  %.1194.us = add nsw i64 %.1130.us, -536870912
  br i1 %spec.select670.us, label %B1958.us, label %B2606.us

B1352.us:                                         ; preds = %B1232.us
  %.1000.us = load i8, ptr %17, align 1
  %.1002.us = zext i8 %.1000.us to i64
  %.1003.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1002.us
  %.1004.us = load i8, ptr %.1003.us, align 1
  %sunkaddr59 = getelementptr i8, ptr %17, i64 1
  %.1012.us = load i8, ptr %sunkaddr59, align 1
  %.1014.us = zext i8 %.1012.us to i64
  %.1015.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1014.us
  %.1016.us = load i8, ptr %.1015.us, align 1
  %sunkaddr61 = getelementptr i8, ptr %17, i64 2
  %.1024.us = load i8, ptr %sunkaddr61, align 1
  %.1026.us = zext i8 %.1024.us to i64
  %.1027.us = getelementptr i8, ptr %arg.hexadecimal, i64 %.1026.us
  %.1028.us = load i8, ptr %.1027.us, align 1
  %.1034.us = zext i8 %.1004.us to i64
  %.1035.us = zext i8 %.1016.us to i64
  %.1036.us = or i64 %.1035.us, %.1034.us
  %.1038.us = zext i8 %.1028.us to i64
  %.1039.us = or i64 %.1036.us, %.1038.us
  %.1042.us = icmp samesign ult i64 %.1039.us, 16
  br i1 %.1042.us, label %B1482.us, label %B2606.us

B1482.us:                                         ; preds = %B1352.us
  %.1049.us = icmp ult i8 %.1004.us, 8
  %.1069.us = shl nuw nsw i64 %.1034.us, 8
  %.1074.us = shl nuw nsw i64 %.1035.us, 4
  %.1075.us = or i64 %.1074.us, %.1069.us
  %.1080.us = or disjoint i64 %.1075.us, %.1038.us
  %.1085.us = add nsw i64 %.980.us, 4
  br i1 %.1049.us, label %B1958.us, label %B2606.us

B1958.us:                                         ; preds = %B1482.us, %B1912.us, %B1952.us
  %q.3.2460.us = phi i64 [ %.1085.us, %B1482.us ], [ %.1167.us, %B1952.us ], [ %.1167.us, %B1912.us ]
  %number.3.2459.us = phi i64 [ %.1080.us, %B1482.us ], [ %.1130.us, %B1952.us ], [ %.1194.us, %B1912.us ]
  %kind.4.2457.us = phi i8 [ 0, %B1482.us ], [ 1, %B1952.us ], [ 8, %B1912.us ]
  %.1210.not.us = icmp sgt i64 %.971.us, %arg.latest_ns
  br i1 %.1210.not.us, label %B2606.us, label %B1972.us

B1972.us:                                         ; preds = %B1958.us
  %.1224.us = getelementptr inbounds i8, ptr %arg.b, i64 %q.3.2460.us
  %.1226.us = load <16 x i8>, ptr %.1224.us, align 1
  %.1227.us = add <16 x i8> %.1226.us, splat (i8 -48)
  %.1228.us = icmp ult <16 x i8> %.1227.us, splat (i8 10)
  %.1229.us = or <16 x i8> %.1226.us, splat (i8 32)
  %.1230.us = add <16 x i8> %.1229.us, splat (i8 -97)
  %.1231.us = icmp ult <16 x i8> %.1230.us, splat (i8 6)
  %.1232.us = add <16 x i8> %.1229.us, splat (i8 -87)
  %.1233.us = select <16 x i1> %.1231.us, <16 x i8> %.1232.us, <16 x i8> zeroinitializer
  %.1234.us = select <16 x i1> %.1228.us, <16 x i8> %.1227.us, <16 x i8> %.1233.us
  %.1235.us = or <16 x i1> %.1228.us, %.1231.us
  %.1236.us = bitcast <16 x i1> %.1235.us to i16
  %.1237.us = zext i16 %.1236.us to i32
  %.1238.us = xor i32 %.1237.us, -1
  %.1240.us = tail call range(i32 0, 17) i32 @llvm.cttz.i32(i32 %.1238.us, i1 true)
  %.1241.us = shufflevector <16 x i8> %.1234.us, <16 x i8> poison, <8 x i32> <i32 0, i32 2, i32 4, i32 6, i32 8, i32 10, i32 12, i32 14>
  %.1242.us = shufflevector <16 x i8> %.1234.us, <16 x i8> poison, <8 x i32> <i32 1, i32 3, i32 5, i32 7, i32 9, i32 11, i32 13, i32 15>
  %.1243.us = shl <8 x i8> %.1241.us, splat (i8 4)
  %.1244.us = or <8 x i8> %.1243.us, %.1242.us
  %.1245.us = zext nneg i32 %.1240.us to i64
  %.1246.us = bitcast <8 x i8> %.1244.us to i64
  %.1265.us = add nsw i64 %q.3.2460.us, %.1245.us
  %.1273.not.us = icmp eq i64 %.1265.us, %end.2.1.us
  br i1 %.1273.not.us, label %B2260.us, label %B2068.us

B2068.us:                                         ; preds = %B1972.us
  %.1280.us = add nsw i64 %end.2.1.us, -2
  %.1284.us = icmp eq i64 %.1265.us, %.1280.us
  br i1 %.1284.us, label %B2108.us, label %B2606.us

B2108.us:                                         ; preds = %B2068.us
  %.1291.us = getelementptr i8, ptr %arg.b, i64 %.1265.us
  %.1292.us = load i8, ptr %.1291.us, align 1
  %.1294.us = icmp eq i8 %.1292.us, 32
  br i1 %.1294.us, label %B2114.us, label %B2606.us

B2114.us:                                         ; preds = %B2108.us
  %sunkaddr63 = getelementptr i8, ptr %.1291.us, i64 1
  %.1317.us = load i8, ptr %sunkaddr63, align 1
  %20 = and i8 %.1317.us, -33
  switch i8 %20, label %B2606.us [
    i8 82, label %B2260.us
    i8 84, label %B2178.us
  ]

B2178.us:                                         ; preds = %B2114.us
  %.1357.us = or disjoint i8 %kind.4.2457.us, 16
  br label %B2260.us

B2260.us:                                         ; preds = %B2178.us, %B2114.us, %B1972.us
  %kind.5.2472.us = phi i8 [ %.1357.us, %B2178.us ], [ %kind.4.2457.us, %B2114.us ], [ %kind.4.2457.us, %B1972.us ]
  %.1380.us = and i64 %.1245.us, 1
  %.1381.us = icmp eq i64 %.1380.us, 0
  br i1 %.1381.us, label %B2266.us, label %B2606.us

B2266.us:                                         ; preds = %B2260.us
  %.1398.us = icmp samesign ult i32 %.1240.us, 16
  %.1401.us = shl nuw nsw i64 %.1245.us, 2
  %notmask.us = shl nsw i64 -1, %.1401.us
  %.1403.us = xor i64 %notmask.us, -1
  %.1405.us = select i1 %.1398.us, i64 %.1403.us, i64 -1
  %spelt.3.3.us = and i64 %.1405.us, %.1246.us
  %.1416.us = getelementptr i8, ptr %arg.kept, i64 %.179693718.us788
  store i8 1, ptr %.1416.us, align 1
  %.1421.us = getelementptr i64, ptr %arg.t_ns, i64 %.179693718.us788
  store i64 %.971.us, ptr %.1421.us, align 8
  %.1426.us = trunc nuw i64 %number.3.2459.us to i32
  %.1431.us = getelementptr i32, ptr %arg.can_id, i64 %.179693718.us788
  store i32 %.1426.us, ptr %.1431.us, align 4
  %.1437.us = getelementptr i8, ptr %arg.flags, i64 %.179693718.us788
  store i8 %kind.5.2472.us, ptr %.1437.us, align 1
  %.1443.us = getelementptr i64, ptr %arg.bus, i64 %k.2.1680.us
  %.1444.us = load i64, ptr %.1443.us, align 8
  %.1449.us = trunc i64 %.1444.us to i8
  %.1450.us = getelementptr i8, ptr %arg.out_bus, i64 %.179693718.us788
  store i8 %.1449.us, ptr %.1450.us, align 1
  %.1453.us = lshr exact i64 %.1245.us, 1
  %.1456.us = trunc nuw nsw i64 %.1453.us to i8
  %.1459.us = getelementptr i8, ptr %arg.length, i64 %.179693718.us788
  store i8 %.1456.us, ptr %.1459.us, align 1
  %.1464.us = getelementptr i64, ptr %arg.data, i64 %.179693718.us788
  store i64 %spelt.3.3.us, ptr %.1464.us, align 8
  br label %B2626.us

B2606.us:                                         ; preds = %B432.us, %B2260.us, %B2114.us, %B2108.us, %B2068.us, %B1958.us, %B1482.us, %B1352.us, %B1912.us, %B1952.us, %B1654.us
  %last.3.1.ph.us = phi i64 [ %k.2.1680.us, %B1952.us ], [ %k.2.1680.us, %B1958.us ], [ %k.2.1680.us, %B1482.us ], [ %k.2.1680.us, %B1912.us ], [ %k.2.1680.us, %B2068.us ], [ %k.2.1680.us, %B2260.us ], [ %k.2.1680.us, %B2114.us ], [ %k.2.1680.us, %B1352.us ], [ %k.2.1680.us, %B2108.us ], [ %k.2.1680.us, %B1654.us ], [ %last.2.0722.us786, %B432.us ]
  %seen_high.3.1.ph.us = phi i64 [ %seen_high.4.3.us, %B1952.us ], [ %seen_high.4.3.us, %B1958.us ], [ %seen_high.4.3.us, %B1482.us ], [ %seen_high.4.3.us, %B1912.us ], [ %seen_high.4.3.us, %B2068.us ], [ %seen_high.4.3.us, %B2260.us ], [ %seen_high.4.3.us, %B2114.us ], [ %seen_high.4.3.us, %B1352.us ], [ %seen_high.4.3.us, %B2108.us ], [ %seen_high.4.3.us, %B1654.us ], [ %seen_high.2.0724.us784, %B432.us ]
  %seen_low.3.1.ph.us = phi i64 [ %seen_low.4.3.us, %B1952.us ], [ %seen_low.4.3.us, %B1958.us ], [ %seen_low.4.3.us, %B1482.us ], [ %seen_low.4.3.us, %B1912.us ], [ %seen_low.4.3.us, %B2068.us ], [ %seen_low.4.3.us, %B2260.us ], [ %seen_low.4.3.us, %B2114.us ], [ %seen_low.4.3.us, %B1352.us ], [ %seen_low.4.3.us, %B2108.us ], [ %seen_low.4.3.us, %B1654.us ], [ %seen_low.2.0725.us783, %B432.us ]
  %seen_layout.3.1.ph.us = phi i64 [ %seen_layout.4.3.us, %B1952.us ], [ %seen_layout.4.3.us, %B1958.us ], [ %seen_layout.4.3.us, %B1482.us ], [ %seen_layout.4.3.us, %B1912.us ], [ %seen_layout.4.3.us, %B2068.us ], [ %seen_layout.4.3.us, %B2260.us ], [ %seen_layout.4.3.us, %B2114.us ], [ %seen_layout.4.3.us, %B1352.us ], [ %seen_layout.4.3.us, %B2108.us ], [ %seen_layout.4.3.us, %B1654.us ], [ %seen_layout.2.0726.us782, %B432.us ]
  %seen_ns.4.1.ph.us = phi i64 [ %seen_ns.2.3.us, %B1952.us ], [ %seen_ns.2.3.us, %B1958.us ], [ %seen_ns.2.3.us, %B1482.us ], [ %seen_ns.2.3.us, %B1912.us ], [ %seen_ns.2.3.us, %B2068.us ], [ %seen_ns.2.3.us, %B2260.us ], [ %seen_ns.2.3.us, %B2114.us ], [ %seen_ns.2.3.us, %B1352.us ], [ %seen_ns.2.3.us, %B2108.us ], [ %seen_ns.2.3.us, %B1654.us ], [ %seen_ns.3.0727.us781, %B432.us ]
  %.1579.us = getelementptr i64, ptr %arg.left, i64 %n_left.2.0721.us787
  store i64 %.179693718.us788, ptr %.1579.us, align 8
  %.1584.us = add nsw i64 %n_left.2.0721.us787, 1
  br label %B2626.us

B2626.us:                                         ; preds = %B2606.us, %B2266.us
  %seen_ns.4.1560.us = phi i64 [ %seen_ns.2.3.us, %B2266.us ], [ %seen_ns.4.1.ph.us, %B2606.us ]
  %seen_layout.3.1558.us = phi i64 [ %seen_layout.4.3.us, %B2266.us ], [ %seen_layout.3.1.ph.us, %B2606.us ]
  %seen_low.3.1556.us = phi i64 [ %seen_low.4.3.us, %B2266.us ], [ %seen_low.3.1.ph.us, %B2606.us ]
  %seen_high.3.1554.us = phi i64 [ %seen_high.4.3.us, %B2266.us ], [ %seen_high.3.1.ph.us, %B2606.us ]
  %last.3.1552.us = phi i64 [ %k.2.1680.us, %B2266.us ], [ %last.3.1.ph.us, %B2606.us ]
  %n_left.3.1.us = phi i64 [ %n_left.2.0721.us787, %B2266.us ], [ %.1584.us, %B2606.us ]
  %exitcond812.not = icmp eq i64 %.186.us792, %.arg.n
  br i1 %exitcond812.not, label %common.ret, label %B148.us

B744.us:                                          ; preds = %B744.us, %B744.us.preheader.new
  %t.3.3687.us = phi i64 [ 0, %B744.us.preheader.new ], [ %.844.us.7, %B744.us ]
  %.802683685.us = phi i64 [ 0, %B744.us.preheader.new ], [ %.809.us.7, %B744.us ]
  %.835.us = mul i64 %t.3.3687.us, 10
  %scevgep38 = getelementptr i8, ptr %scevgep24, i64 %.802683685.us
  %scevgep39 = getelementptr i8, ptr %scevgep38, i64 -7
  %.841.us = load i8, ptr %scevgep39, align 1
  %21 = and i8 %.841.us, 15
  %22 = zext nneg i8 %21 to i64
  %.844.us = add i64 %.835.us, %22
  %.835.us.1 = mul i64 %.844.us, 10
  %scevgep37 = getelementptr i8, ptr %scevgep38, i64 -6
  %.841.us.1 = load i8, ptr %scevgep37, align 1
  %23 = and i8 %.841.us.1, 15
  %24 = zext nneg i8 %23 to i64
  %.844.us.1 = add i64 %.835.us.1, %24
  %.835.us.2 = mul i64 %.844.us.1, 10
  %scevgep35 = getelementptr i8, ptr %scevgep38, i64 -5
  %.841.us.2 = load i8, ptr %scevgep35, align 1
  %25 = and i8 %.841.us.2, 15
  %26 = zext nneg i8 %25 to i64
  %.844.us.2 = add i64 %.835.us.2, %26
  %.835.us.3 = mul i64 %.844.us.2, 10
  %scevgep33 = getelementptr i8, ptr %scevgep38, i64 -4
  %.841.us.3 = load i8, ptr %scevgep33, align 1
  %27 = and i8 %.841.us.3, 15
  %28 = zext nneg i8 %27 to i64
  %.844.us.3 = add i64 %.835.us.3, %28
  %.835.us.4 = mul i64 %.844.us.3, 10
  %scevgep31 = getelementptr i8, ptr %scevgep38, i64 -3
  %.841.us.4 = load i8, ptr %scevgep31, align 1
  %29 = and i8 %.841.us.4, 15
  %30 = zext nneg i8 %29 to i64
  %.844.us.4 = add i64 %.835.us.4, %30
  %.835.us.5 = mul i64 %.844.us.4, 10
  %scevgep29 = getelementptr i8, ptr %scevgep38, i64 -2
  %.841.us.5 = load i8, ptr %scevgep29, align 1
  %31 = and i8 %.841.us.5, 15
  %32 = zext nneg i8 %31 to i64
  %.844.us.5 = add i64 %.835.us.5, %32
  %.835.us.6 = mul i64 %.844.us.5, 10
  %scevgep27 = getelementptr i8, ptr %scevgep38, i64 -1
  %.841.us.6 = load i8, ptr %scevgep27, align 1
  %33 = and i8 %.841.us.6, 15
  %34 = zext nneg i8 %33 to i64
  %.844.us.6 = add i64 %.835.us.6, %34
  %.809.us.7 = add nuw nsw i64 %.802683685.us, 8
  %.835.us.7 = mul i64 %.844.us.6, 10
  %.841.us.7 = load i8, ptr %scevgep38, align 1
  %35 = and i8 %.841.us.7, 15
  %36 = zext nneg i8 %35 to i64
  %.844.us.7 = add i64 %.835.us.7, %36
  %niter.ncmp.7 = icmp eq i64 %unroll_iter, %.809.us.7
  br i1 %niter.ncmp.7, label %B846.us.loopexit.unr-lcssa, label %B744.us

B148.lr.ph.split:                                 ; preds = %B148.lr.ph
  br i1 %or.cond.us780, label %common.ret, label %B200.preheader

B200.preheader:                                   ; preds = %B148.lr.ph.split
  %37 = add nsw i64 %.arg.n, -1
  br label %B200

B148:                                             ; preds = %B200
  %sunkaddr73 = getelementptr i8, ptr %arg.ends, i64 %39
  %sunkaddr74 = getelementptr i8, ptr %sunkaddr73, i64 8
  %.217 = load i64, ptr %sunkaddr74, align 8
  %.229 = icmp sle i64 %.217, %.217767
  %.233 = icmp sge i64 %.217, %arg.used
  %or.cond = select i1 %.229, i1 true, i1 %.233
  %.1584 = add nuw nsw i64 %n_left.2.0721763, 1
  br i1 %or.cond, label %common.ret, label %B200

B200.common.ret.loopexit22_crit_edge:             ; preds = %B200
  %38 = add nuw nsw i64 %n_left.2.0721763, 1
  br label %common.ret

common.ret:                                       ; preds = %B148, %B2626.us, %B148.us, %B200.common.ret.loopexit22_crit_edge, %B148.lr.ph.split, %B148.lr.ph.split.us, %B0.endif
  %storemerge671 = phi i64 [ 0, %B0.endif ], [ -1, %B148.lr.ph.split.us ], [ -1, %B148.lr.ph.split ], [ %38, %B200.common.ret.loopexit22_crit_edge ], [ %n_left.3.1.us, %B2626.us ], [ -1, %B148.us ], [ -1, %B148 ]
  store i64 %storemerge671, ptr %retptr, align 8
  ret void

B200:                                             ; preds = %B148, %B200.preheader
  %.217767 = phi i64 [ %.217, %B148 ], [ %.217.us777, %B200.preheader ]
  %n_left.2.0721763 = phi i64 [ %.1584, %B148 ], [ 0, %B200.preheader ]
  %39 = shl i64 %n_left.2.0721763, 3
  %scevgep45 = getelementptr i8, ptr %arg.left, i64 %39
  store i64 %n_left.2.0721763, ptr %scevgep45, align 8
  %exitcond.not = icmp eq i64 %37, %n_left.2.0721763
  br i1 %exitcond.not, label %B200.common.ret.loopexit22_crit_edge, label %B148
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smax.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.umin.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.bswap.i64(i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i32 @llvm.cttz.i32(i32, i1 immarg) #2

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @can_text(ptr readonly %.1, i64 %.2, ptr readonly %.3, i64 %.4, i64 %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr readonly %.10, ptr readonly %.11, ptr readonly %.12, ptr readonly %.13, i64 %.14, ptr writeonly %.15, ptr writeonly %.16, ptr writeonly %.17, ptr writeonly %.18, ptr writeonly %.19, ptr writeonly %.20, ptr writeonly %.21, ptr writeonly %.22) local_unnamed_addr #0 {
entry:
  %.24 = alloca i64, align 8
  store i64 0, ptr %.24, align 8
  call fastcc void @inside_can_text(ptr nonnull %.24, ptr %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10, ptr %.11, ptr %.12, ptr %.13, i64 %.14, ptr %.15, ptr %.16, ptr %.17, ptr %.18, ptr %.19, ptr %.20, ptr %.21, ptr %.22) #4
  %.38 = load i64, ptr %.24, align 8
  ret i64 %.38
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_kinds(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.can_id, ptr readonly %arg.flags, ptr readonly %arg.bus, ptr readonly %arg.length, ptr readonly %arg.t_ns, i64 %arg.n, ptr %arg.table, i64 %arg.mask, ptr %arg.keys, i64 %arg.most, i64 %arg.known, ptr %arg.span, ptr %arg.counts, ptr writeonly %arg.slot) unnamed_addr #0 {
B0.endif:
  %.47 = load i64, ptr %arg.span, align 8
  %.52 = getelementptr i8, ptr %arg.span, i64 8
  %.53 = load i64, ptr %.52, align 8
  %.139183.not = icmp slt i64 %arg.n, 1
  br i1 %.139183.not, label %B908, label %B70

B70:                                              ; preds = %B0.endif, %B826
  %longest.2.0188 = phi i64 [ %spec.select, %B826 ], [ %.53, %B0.endif ]
  %before.2.0187 = phi i64 [ %.183, %B826 ], [ %.47, %B0.endif ]
  %known.2.0186 = phi i64 [ %known.3.1, %B826 ], [ %arg.known, %B0.endif ]
  %.145181184 = phi i64 [ %.152, %B826 ], [ 0, %B0.endif ]
  %.152 = add nuw nsw i64 %.145181184, 1
  %.182 = getelementptr i64, ptr %arg.t_ns, i64 %.145181184
  %.183 = load i64, ptr %.182, align 8
  %.189 = icmp slt i64 %.183, %before.2.0187
  br i1 %.189, label %common.ret, label %B106

common.ret:                                       ; preds = %B738, %B70, %B908
  %known.2.0.lcssa.sink = phi i64 [ %known.2.0.lcssa, %B908 ], [ -1, %B70 ], [ -1, %B738 ]
  store i64 %known.2.0.lcssa.sink, ptr %retptr, align 8
  ret void

B106:                                             ; preds = %B70
  %.231 = sub nsw i64 %.183, %before.2.0187
  %spec.select = tail call i64 @llvm.smax.i64(i64 %.231, i64 %longest.2.0188)
  %.268 = getelementptr i32, ptr %arg.can_id, i64 %.145181184
  %.269 = load i32, ptr %.268, align 4
  %.270 = zext i32 %.269 to i64
  %.273 = getelementptr i8, ptr %arg.flags, i64 %.145181184
  %.274 = load i8, ptr %.273, align 1
  %.275 = zext i8 %.274 to i64
  %.276 = shl nuw nsw i64 %.275, 32
  %.277 = or disjoint i64 %.276, %.270
  %.280 = getelementptr i8, ptr %arg.bus, i64 %.145181184
  %.281 = load i8, ptr %.280, align 1
  %.282 = zext i8 %.281 to i64
  %.283 = shl nuw nsw i64 %.282, 40
  %.284 = or disjoint i64 %.277, %.283
  %.287 = getelementptr i8, ptr %arg.length, i64 %.145181184
  %.288 = load i8, ptr %.287, align 1
  %.289 = zext i8 %.288 to i64
  %.290 = shl nuw nsw i64 %.289, 48
  %.291 = or disjoint i64 %.284, %.290
  %.296 = mul i64 %.291, -7046029254386353131
  %.297 = lshr i64 %.296, 40
  %.299 = and i64 %.297, %arg.mask
  %.309 = getelementptr i16, ptr %arg.table, i64 %.299
  %.310 = load i16, ptr %.309, align 2
  %.321.not = icmp eq i16 %.310, 0
  br i1 %.321.not, label %B738, label %B592

B592:                                             ; preds = %B106
  %.311 = zext i16 %.310 to i64
  %.312 = add nsw i64 %.311, -1
  %.337 = getelementptr i64, ptr %arg.keys, i64 %.312
  %.338 = load i64, ptr %.337, align 8
  %.342.not = icmp eq i64 %.338, %.291
  br i1 %.342.not, label %B826, label %B616

B616:                                             ; preds = %B592, %B702
  %at.2.2 = phi i64 [ %.352, %B702 ], [ %.299, %B592 ]
  %.348 = add nsw i64 %at.2.2, 1
  %.352 = and i64 %.348, %arg.mask
  %.361 = getelementptr i16, ptr %arg.table, i64 %.352
  %.362 = load i16, ptr %.361, align 2
  %.372.not = icmp eq i16 %.362, 0
  br i1 %.372.not, label %B738, label %B702

B702:                                             ; preds = %B616
  %.363 = zext i16 %.362 to i64
  %.364 = add nsw i64 %.363, -1
  %.387 = getelementptr i64, ptr %arg.keys, i64 %.364
  %.388 = load i64, ptr %.387, align 8
  %.392.not = icmp eq i64 %.388, %.291
  br i1 %.392.not, label %B826, label %B616

B738:                                             ; preds = %B616, %B106
  %at.3.1.ph = phi i64 [ %.299, %B106 ], [ %.352, %B616 ]
  %.428 = icmp eq i64 %known.2.0186, %arg.most
  br i1 %.428, label %common.ret, label %B756

B756:                                             ; preds = %B738
  %.475 = getelementptr i64, ptr %arg.keys, i64 %known.2.0186
  store i64 %.291, ptr %.475, align 8
  %.480 = add nsw i64 %known.2.0186, 1
  %.485 = trunc i64 %.480 to i16
  %.488 = getelementptr i16, ptr %arg.table, i64 %at.3.1.ph
  store i16 %.485, ptr %.488, align 2
  br label %B826

B826:                                             ; preds = %B702, %B756, %B592
  %known.3.1 = phi i64 [ %.480, %B756 ], [ %known.2.0186, %B592 ], [ %known.2.0186, %B702 ]
  %s.4.1 = phi i64 [ %known.2.0186, %B756 ], [ %.312, %B592 ], [ %.364, %B702 ]
  %.514 = getelementptr i64, ptr %arg.counts, i64 %s.4.1
  %.515 = load i64, ptr %.514, align 8
  %.516 = add nsw i64 %.515, 1
  store i64 %.516, ptr %.514, align 8
  %.522 = trunc i64 %s.4.1 to i16
  %.527 = getelementptr i16, ptr %arg.slot, i64 %.145181184
  store i16 %.522, ptr %.527, align 2
  %exitcond.not = icmp eq i64 %arg.n, %.152
  br i1 %exitcond.not, label %B908, label %B70

B908:                                             ; preds = %B826, %B0.endif
  %known.2.0.lcssa = phi i64 [ %arg.known, %B0.endif ], [ %known.3.1, %B826 ]
  %before.2.0.lcssa = phi i64 [ %.47, %B0.endif ], [ %.183, %B826 ]
  %longest.2.0.lcssa = phi i64 [ %.53, %B0.endif ], [ %spec.select, %B826 ]
  store i64 %before.2.0.lcssa, ptr %arg.span, align 8
  store i64 %longest.2.0.lcssa, ptr %.52, align 8
  br label %common.ret
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @kinds(ptr readonly %.1, ptr readonly %.2, ptr readonly %.3, ptr readonly %.4, ptr readonly %.5, i64 %.6, ptr %.7, i64 %.8, ptr %.9, i64 %.10, i64 %.11, ptr %.12, ptr %.13, ptr writeonly %.14) local_unnamed_addr #0 {
entry:
  %.16 = alloca i64, align 8
  store i64 0, ptr %.16, align 8
  call fastcc void @inside_kinds(ptr nonnull %.16, ptr %.1, ptr %.2, ptr %.3, ptr %.4, ptr %.5, i64 %.6, ptr %.7, i64 %.8, ptr %.9, i64 %.10, i64 %.11, ptr %.12, ptr %.13, ptr %.14) #4
  %.30 = load i64, ptr %.16, align 8
  ret i64 %.30
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_rows_by_slot(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr %arg.place, i64 %arg.slots, ptr writeonly %arg.rows) unnamed_addr #0 {
B0.endif:
  %.10179.not = icmp slt i64 %arg.n, 1
  br i1 %.10179.not, label %common.ret, label %B36

B36:                                              ; preds = %B0.endif, %B154
  %.1077780 = phi i64 [ %.114, %B154 ], [ 0, %B0.endif ]
  %.114 = add nuw nsw i64 %.1077780, 1
  %0 = shl nuw i64 %.1077780, 1
  %scevgep = getelementptr i8, ptr %arg.slot, i64 %0
  %.145 = load i16, ptr %scevgep, align 2
  %.146 = zext i16 %.145 to i64
  %.152.not = icmp sgt i64 %arg.slots, %.146
  br i1 %.152.not, label %B108, label %common.ret

common.ret:                                       ; preds = %B154, %B108, %B36, %B0.endif
  %arg.n.sink = phi i64 [ %arg.n, %B0.endif ], [ -1, %B36 ], [ -1, %B108 ], [ %arg.n, %B154 ]
  store i64 %arg.n.sink, ptr %retptr, align 8
  ret void

B108:                                             ; preds = %B36
  %.174 = getelementptr i64, ptr %arg.place, i64 %.146
  %.175 = load i64, ptr %.174, align 8
  %or.cond.not = icmp ult i64 %.175, %arg.n
  br i1 %or.cond.not, label %B154, label %common.ret

B154:                                             ; preds = %B108
  %.209 = getelementptr i64, ptr %arg.rows, i64 %.175
  store i64 %.1077780, ptr %.209, align 8
  %.214 = add nuw nsw i64 %.175, 1
  %sunkaddr = shl nuw nsw i64 %.146, 3
  %sunkaddr1 = getelementptr i8, ptr %arg.place, i64 %sunkaddr
  store i64 %.214, ptr %sunkaddr1, align 8
  %exitcond.not = icmp eq i64 %arg.n, %.114
  br i1 %exitcond.not, label %common.ret, label %B36
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @rows_by_slot(ptr readonly %.1, i64 %.2, ptr %.3, i64 %.4, ptr writeonly %.5) local_unnamed_addr #0 {
entry:
  %.7 = alloca i64, align 8
  store i64 0, ptr %.7, align 8
  call fastcc void @inside_rows_by_slot(ptr nonnull %.7, ptr %.1, i64 %.2, ptr %.3, i64 %.4, ptr %.5) #4
  %.21 = load i64, ptr %.7, align 8
  ret i64 %.21
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_put_together(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr %arg.place, i64 %arg.slots, i64 %arg.room, ptr readonly %arg.t_ns, ptr readonly %arg.data, ptr writeonly %arg.out_t_ns, ptr writeonly %arg.out_data) unnamed_addr #0 {
B0.endif:
  %.11383.not = icmp slt i64 %arg.n, 1
  br i1 %.11383.not, label %common.ret, label %B36

B36:                                              ; preds = %B0.endif, %B154
  %.1198184 = phi i64 [ %.126, %B154 ], [ 0, %B0.endif ]
  %.126 = add nuw nsw i64 %.1198184, 1
  %0 = shl nuw i64 %.1198184, 1
  %scevgep2 = getelementptr i8, ptr %arg.slot, i64 %0
  %.157 = load i16, ptr %scevgep2, align 2
  %.158 = zext i16 %.157 to i64
  %.164.not = icmp sgt i64 %arg.slots, %.158
  br i1 %.164.not, label %B108, label %common.ret

common.ret:                                       ; preds = %B154, %B108, %B36, %B0.endif
  %arg.n.sink = phi i64 [ %arg.n, %B0.endif ], [ -1, %B36 ], [ -1, %B108 ], [ %arg.n, %B154 ]
  store i64 %arg.n.sink, ptr %retptr, align 8
  ret void

B108:                                             ; preds = %B36
  %.194 = getelementptr i64, ptr %arg.place, i64 %.158
  %.195 = load i64, ptr %.194, align 8
  %.200 = icmp slt i64 %.195, 0
  %.204 = icmp sge i64 %.195, %arg.room
  %or.cond = select i1 %.200, i1 true, i1 %.204
  br i1 %or.cond, label %common.ret, label %B154

B154:                                             ; preds = %B108
  %1 = shl i64 %.1198184, 3
  %scevgep1 = getelementptr i8, ptr %arg.t_ns, i64 %1
  %.237 = load i64, ptr %scevgep1, align 8
  %.240 = getelementptr i64, ptr %arg.out_t_ns, i64 %.195
  store i64 %.237, ptr %.240, align 8
  %scevgep = getelementptr i8, ptr %arg.data, i64 %1
  %.245 = load i64, ptr %scevgep, align 8
  %.250 = getelementptr i64, ptr %arg.out_data, i64 %.195
  store i64 %.245, ptr %.250, align 8
  %.253 = add nuw nsw i64 %.195, 1
  %sunkaddr = shl nuw nsw i64 %.158, 3
  %sunkaddr3 = getelementptr i8, ptr %arg.place, i64 %sunkaddr
  store i64 %.253, ptr %sunkaddr3, align 8
  %exitcond.not = icmp eq i64 %arg.n, %.126
  br i1 %exitcond.not, label %common.ret, label %B36
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @put_together(ptr readonly %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr readonly %.6, ptr readonly %.7, ptr writeonly %.8, ptr writeonly %.9) local_unnamed_addr #0 {
entry:
  %.11 = alloca i64, align 8
  store i64 0, ptr %.11, align 8
  call fastcc void @inside_put_together(ptr nonnull %.11, ptr %.1, i64 %.2, ptr %.3, i64 %.4, i64 %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9) #4
  %.25 = load i64, ptr %.11, align 8
  ret i64 %.25
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_rows_of_slots(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.slot, i64 %arg.n, ptr readonly %arg.wanted, i64 %arg.slots, ptr writeonly %arg.rows) unnamed_addr #0 {
B0.endif:
  %.10165.not = icmp slt i64 %arg.n, 1
  br i1 %.10165.not, label %common.ret, label %B40

B40:                                              ; preds = %B0.endif, %B112
  %found.2.068 = phi i64 [ %.190, %B112 ], [ 0, %B0.endif ]
  %.1076366 = phi i64 [ %.114, %B112 ], [ 0, %B0.endif ]
  %0 = shl nuw i64 %.1076366, 1
  %scevgep = getelementptr i8, ptr %arg.slot, i64 %0
  %.145 = load i16, ptr %scevgep, align 2
  %.146 = zext i16 %.145 to i64
  %.152.not = icmp sgt i64 %arg.slots, %.146
  br i1 %.152.not, label %B112, label %common.ret

common.ret:                                       ; preds = %B112, %B40, %B0.endif
  %storemerge60 = phi i64 [ 0, %B0.endif ], [ -1, %B40 ], [ %.190, %B112 ]
  store i64 %storemerge60, ptr %retptr, align 8
  ret void

B112:                                             ; preds = %B40
  %.114 = add nuw nsw i64 %.1076366, 1
  %.175 = getelementptr i64, ptr %arg.rows, i64 %found.2.068
  store i64 %.1076366, ptr %.175, align 8
  %.181 = getelementptr i8, ptr %arg.wanted, i64 %.146
  %.182 = load i8, ptr %.181, align 1
  %.186 = icmp ne i8 %.182, 0
  %.188 = zext i1 %.186 to i64
  %.190 = add nuw nsw i64 %found.2.068, %.188
  %exitcond.not = icmp eq i64 %arg.n, %.114
  br i1 %exitcond.not, label %common.ret, label %B40
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @rows_of_slots(ptr readonly %.1, i64 %.2, ptr readonly %.3, i64 %.4, ptr writeonly %.5) local_unnamed_addr #0 {
entry:
  %.7 = alloca i64, align 8
  store i64 0, ptr %.7, align 8
  call fastcc void @inside_rows_of_slots(ptr nonnull %.7, ptr %.1, i64 %.2, ptr %.3, i64 %.4, ptr %.5) #4
  %.21 = load i64, ptr %.7, align 8
  ret i64 %.21
}

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define internal fastcc void @inside_signals(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.data, i64 %arg.n, i64 %arg.count, ptr readonly %arg.shift, ptr readonly %arg.length, ptr readonly %arg.big, ptr readonly %arg.signed, ptr readonly %arg.scale, ptr readonly %arg.offset, ptr writeonly %arg.out) unnamed_addr #0 {
B0:
  %.38 = icmp sgt i64 %arg.n, 0
  br i1 %.38, label %B22.preheader, label %B558

B22.preheader:                                    ; preds = %B0
  %.137138.not = icmp slt i64 %arg.count, 1
  br i1 %.137138.not, label %B22, label %B22.us.preheader

B22.us.preheader:                                 ; preds = %B22.preheader
  %0 = add nuw i64 %arg.count, 2305843009213693951
  %1 = shl i64 %arg.n, 3
  %2 = mul i64 %1, %0
  %scevgep15 = getelementptr i8, ptr %arg.out, i64 %2
  %3 = shl i64 %arg.count, 3
  %scevgep19 = getelementptr i8, ptr %arg.big, i64 %3
  %scevgep20 = getelementptr i8, ptr %arg.signed, i64 %3
  %scevgep133 = getelementptr i8, ptr %arg.out, i64 192
  %4 = shl i64 %arg.n, 3
  %scevgep143 = getelementptr i8, ptr %arg.data, i64 192
  %5 = and i64 %arg.n, 1152921504606846976
  %6 = icmp ne i64 %5, 0
  br label %B22.us

B22.us:                                           ; preds = %B78.B540_crit_edge.us, %B22.us.preheader
  %done.2.0.us = phi i64 [ %spec.select.us, %B78.B540_crit_edge.us ], [ 0, %B22.us.preheader ]
  %.44.us = add nsw i64 %done.2.0.us, 2048
  %spec.select.us = tail call i64 @llvm.smin.i64(i64 %.44.us, i64 %arg.n)
  %.251.us = sub i64 %spec.select.us, %done.2.0.us
  %..251.us = tail call i64 @llvm.smax.i64(i64 %.251.us, i64 0)
  %.294127.us.not = icmp slt i64 %.251.us, 1
  br i1 %.294127.us.not, label %B78.B540_crit_edge.us, label %B80.endif.us.us.preheader

B80.endif.us.us.preheader:                        ; preds = %B22.us
  %7 = shl i64 %done.2.0.us, 3
  %scevgep = getelementptr i8, ptr %arg.out, i64 %7
  %8 = add i64 %..251.us, %done.2.0.us
  %9 = shl i64 %8, 3
  %scevgep16 = getelementptr i8, ptr %scevgep15, i64 %9
  %scevgep17 = getelementptr i8, ptr %arg.data, i64 %7
  %scevgep18 = getelementptr i8, ptr %arg.data, i64 %9
  %bound064 = icmp ult ptr %scevgep, %scevgep18
  %bound165 = icmp ult ptr %scevgep17, %scevgep16
  %found.conflict66 = and i1 %bound064, %bound165
  %bound068 = icmp ult ptr %scevgep, %scevgep19
  %bound169 = icmp ult ptr %arg.big, %scevgep16
  %found.conflict70 = and i1 %bound068, %bound169
  %10 = or i1 %6, %found.conflict70
  %conflict.rdx72 = or i1 %found.conflict66, %10
  %bound073 = icmp ult ptr %scevgep, %scevgep20
  %bound174 = icmp ult ptr %arg.signed, %scevgep16
  %found.conflict75 = and i1 %bound073, %bound174
  %conflict.rdx77 = or i1 %found.conflict75, %conflict.rdx72
  %n.vec85 = and i64 %..251.us, 9223372036854775776
  %ind.end123 = and i64 %..251.us, 31
  %ind.end124 = add i64 %n.vec85, %done.2.0.us
  %n.vec107 = and i64 %..251.us, 9223372036854775804
  %11 = and i64 %..251.us, 3
  %12 = add i64 %n.vec107, %done.2.0.us
  %scevgep134 = getelementptr i8, ptr %scevgep133, i64 %7
  %scevgep144 = getelementptr i8, ptr %scevgep143, i64 %7
  %13 = icmp slt i64 %.251.us, 4
  %brmerge = select i1 %13, i1 true, i1 %conflict.rdx77
  %14 = icmp slt i64 %.251.us, 32
  %15 = icmp eq i64 %.251.us, %n.vec85
  %16 = and i64 %..251.us, 28
  %17 = icmp eq i64 %16, 0
  %18 = icmp eq i64 %.251.us, %n.vec107
  %19 = icmp slt i64 %.251.us, 4
  %brmerge129 = select i1 %19, i1 true, i1 %conflict.rdx77
  %20 = icmp slt i64 %.251.us, 32
  %21 = icmp eq i64 %.251.us, %n.vec85
  %22 = and i64 %..251.us, 28
  %23 = icmp eq i64 %22, 0
  %24 = icmp eq i64 %.251.us, %n.vec107
  br label %B80.endif.us.us

B78.B540_crit_edge.us:                            ; preds = %B246.B78.loopexit_crit_edge.us.us, %B22.us
  %.460.us = icmp slt i64 %.44.us, %arg.n
  br i1 %.460.us, label %B22.us, label %B558

B80.endif.us.us:                                  ; preds = %B246.B78.loopexit_crit_edge.us.us, %B80.endif.us.us.preheader
  %lsr.iv159 = phi ptr [ %arg.out, %B80.endif.us.us.preheader ], [ %scevgep160, %B246.B78.loopexit_crit_edge.us.us ]
  %lsr.iv153 = phi ptr [ %scevgep, %B80.endif.us.us.preheader ], [ %scevgep154, %B246.B78.loopexit_crit_edge.us.us ]
  %lsr.iv = phi ptr [ %scevgep134, %B80.endif.us.us.preheader ], [ %scevgep135, %B246.B78.loopexit_crit_edge.us.us ]
  %.143133139.us.us = phi i64 [ 0, %B80.endif.us.us.preheader ], [ %.150.us.us, %B246.B78.loopexit_crit_edge.us.us ]
  %.150.us.us = add nuw nsw i64 %.143133139.us.us, 1
  %.180.us.us = getelementptr i64, ptr %arg.length, i64 %.143133139.us.us
  %.181.us.us = load i64, ptr %.180.us.us, align 8
  %.182.us.us = sub nsw i64 64, %.181.us.us
  %.188.us.us = getelementptr i64, ptr %arg.shift, i64 %.143133139.us.us
  %.189.us.us = load i64, ptr %.188.us.us, align 8
  %.201.us.us = getelementptr double, ptr %arg.scale, i64 %.143133139.us.us
  %.202.us.us = load double, ptr %.201.us.us, align 8
  %.208.us.us = getelementptr double, ptr %arg.offset, i64 %.143133139.us.us
  %.209.us.us = load double, ptr %.208.us.us, align 8
  %.209.us.us.fr = freeze double %.209.us.us
  %.409.us.us = fcmp une double %.209.us.us.fr, 0.000000e+00
  br i1 %.409.us.us, label %iter.check, label %iter.check80

iter.check80:                                     ; preds = %B80.endif.us.us
  br i1 %brmerge, label %B248.us145.us.preheader, label %vector.main.loop.iter.check82

vector.main.loop.iter.check82:                    ; preds = %iter.check80
  br i1 %14, label %vec.epilog.ph105, label %vector.ph83

vector.ph83:                                      ; preds = %vector.main.loop.iter.check82
  %sunkaddr = shl i64 %.143133139.us.us, 3
  %sunkaddr192 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr
  %25 = load i64, ptr %sunkaddr192, align 8, !alias.scope !2
  %sunkaddr194 = getelementptr i8, ptr %arg.big, i64 %sunkaddr
  %26 = load i64, ptr %sunkaddr194, align 8, !alias.scope !5
  %broadcast.splatinsert86 = insertelement <8 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat87 = shufflevector <8 x i64> %broadcast.splatinsert86, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert88 = insertelement <8 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat89 = shufflevector <8 x i64> %broadcast.splatinsert88, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert90 = insertelement <8 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat91 = shufflevector <8 x double> %broadcast.splatinsert90, <8 x double> poison, <8 x i32> zeroinitializer
  %27 = icmp eq i64 %25, 0
  %28 = icmp eq i64 %26, 0
  br label %vector.body92

vector.body92:                                    ; preds = %vector.body92, %vector.ph83
  %index93 = phi i64 [ 0, %vector.ph83 ], [ %index.next98, %vector.body92 ]
  %29 = shl i64 %index93, 3
  %scevgep150 = getelementptr i8, ptr %scevgep144, i64 %29
  %scevgep151 = getelementptr i8, ptr %scevgep150, i64 -192
  %scevgep149 = getelementptr i8, ptr %scevgep150, i64 -128
  %scevgep147 = getelementptr i8, ptr %scevgep150, i64 -64
  %wide.load94 = load <8 x i64>, ptr %scevgep151, align 8, !alias.scope !7
  %wide.load95 = load <8 x i64>, ptr %scevgep149, align 8, !alias.scope !7
  %wide.load96 = load <8 x i64>, ptr %scevgep147, align 8, !alias.scope !7
  %wide.load97 = load <8 x i64>, ptr %scevgep150, align 8, !alias.scope !7
  %30 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load94)
  %31 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load95)
  %32 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load96)
  %33 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load97)
  %34 = select i1 %28, <8 x i64> %wide.load94, <8 x i64> %30
  %35 = select i1 %28, <8 x i64> %wide.load95, <8 x i64> %31
  %36 = select i1 %28, <8 x i64> %wide.load96, <8 x i64> %32
  %37 = select i1 %28, <8 x i64> %wide.load97, <8 x i64> %33
  %38 = lshr <8 x i64> %34, %broadcast.splat87
  %39 = lshr <8 x i64> %35, %broadcast.splat87
  %40 = lshr <8 x i64> %36, %broadcast.splat87
  %41 = lshr <8 x i64> %37, %broadcast.splat87
  %42 = shl <8 x i64> %38, %broadcast.splat89
  %43 = shl <8 x i64> %39, %broadcast.splat89
  %44 = shl <8 x i64> %40, %broadcast.splat89
  %45 = shl <8 x i64> %41, %broadcast.splat89
  %46 = ashr exact <8 x i64> %42, %broadcast.splat89
  %47 = ashr exact <8 x i64> %43, %broadcast.splat89
  %48 = ashr exact <8 x i64> %44, %broadcast.splat89
  %49 = ashr exact <8 x i64> %45, %broadcast.splat89
  %50 = sitofp <8 x i64> %46 to <8 x double>
  %51 = sitofp <8 x i64> %47 to <8 x double>
  %52 = sitofp <8 x i64> %48 to <8 x double>
  %53 = sitofp <8 x i64> %49 to <8 x double>
  %54 = lshr exact <8 x i64> %42, %broadcast.splat89
  %55 = lshr exact <8 x i64> %43, %broadcast.splat89
  %56 = lshr exact <8 x i64> %44, %broadcast.splat89
  %57 = lshr exact <8 x i64> %45, %broadcast.splat89
  %58 = uitofp <8 x i64> %54 to <8 x double>
  %59 = uitofp <8 x i64> %55 to <8 x double>
  %60 = uitofp <8 x i64> %56 to <8 x double>
  %61 = uitofp <8 x i64> %57 to <8 x double>
  %62 = select i1 %27, <8 x double> %58, <8 x double> %50
  %63 = select i1 %27, <8 x double> %59, <8 x double> %51
  %64 = select i1 %27, <8 x double> %60, <8 x double> %52
  %65 = select i1 %27, <8 x double> %61, <8 x double> %53
  %66 = fmul <8 x double> %broadcast.splat91, %62
  %67 = fmul <8 x double> %broadcast.splat91, %63
  %68 = fmul <8 x double> %broadcast.splat91, %64
  %69 = fmul <8 x double> %broadcast.splat91, %65
  %scevgep141 = getelementptr i8, ptr %lsr.iv, i64 %29
  %scevgep142 = getelementptr i8, ptr %scevgep141, i64 -192
  %scevgep140 = getelementptr i8, ptr %scevgep141, i64 -128
  %scevgep138 = getelementptr i8, ptr %scevgep141, i64 -64
  store <8 x double> %66, ptr %scevgep142, align 8, !alias.scope !9, !noalias !11
  store <8 x double> %67, ptr %scevgep140, align 8, !alias.scope !9, !noalias !11
  store <8 x double> %68, ptr %scevgep138, align 8, !alias.scope !9, !noalias !11
  store <8 x double> %69, ptr %scevgep141, align 8, !alias.scope !9, !noalias !11
  %index.next98 = add nuw i64 %index93, 32
  %70 = icmp eq i64 %n.vec85, %index.next98
  br i1 %70, label %middle.block99, label %vector.body92, !llvm.loop !12

middle.block99:                                   ; preds = %vector.body92
  br i1 %15, label %B246.B78.loopexit_crit_edge.us.us, label %vec.epilog.iter.check103

vec.epilog.iter.check103:                         ; preds = %middle.block99
  br i1 %17, label %B248.us145.us.preheader, label %vec.epilog.ph105, !prof !15

vec.epilog.ph105:                                 ; preds = %vec.epilog.iter.check103, %vector.main.loop.iter.check82
  %vec.epilog.resume.val101 = phi i64 [ %n.vec85, %vec.epilog.iter.check103 ], [ 0, %vector.main.loop.iter.check82 ]
  %sunkaddr195 = shl i64 %.143133139.us.us, 3
  %sunkaddr196 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr195
  %71 = load i64, ptr %sunkaddr196, align 8, !alias.scope !2
  %sunkaddr198 = getelementptr i8, ptr %arg.big, i64 %sunkaddr195
  %72 = load i64, ptr %sunkaddr198, align 8, !alias.scope !5
  %broadcast.splatinsert108 = insertelement <4 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat109 = shufflevector <4 x i64> %broadcast.splatinsert108, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert110 = insertelement <4 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat111 = shufflevector <4 x i64> %broadcast.splatinsert110, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert112 = insertelement <4 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat113 = shufflevector <4 x double> %broadcast.splatinsert112, <4 x double> poison, <4 x i32> zeroinitializer
  %73 = icmp eq i64 %71, 0
  %74 = icmp eq i64 %72, 0
  br label %vec.epilog.vector.body114

vec.epilog.vector.body114:                        ; preds = %vec.epilog.vector.body114, %vec.epilog.ph105
  %index115 = phi i64 [ %vec.epilog.resume.val101, %vec.epilog.ph105 ], [ %index.next118, %vec.epilog.vector.body114 ]
  %75 = shl i64 %index115, 3
  %scevgep157 = getelementptr i8, ptr %scevgep17, i64 %75
  %wide.load117 = load <4 x i64>, ptr %scevgep157, align 8, !alias.scope !7
  %76 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load117)
  %77 = select i1 %74, <4 x i64> %wide.load117, <4 x i64> %76
  %78 = lshr <4 x i64> %77, %broadcast.splat109
  %79 = shl <4 x i64> %78, %broadcast.splat111
  %80 = ashr exact <4 x i64> %79, %broadcast.splat111
  %81 = sitofp <4 x i64> %80 to <4 x double>
  %82 = lshr exact <4 x i64> %79, %broadcast.splat111
  %83 = uitofp <4 x i64> %82 to <4 x double>
  %84 = select i1 %73, <4 x double> %83, <4 x double> %81
  %85 = fmul <4 x double> %broadcast.splat113, %84
  %scevgep155 = getelementptr i8, ptr %lsr.iv153, i64 %75
  store <4 x double> %85, ptr %scevgep155, align 8, !alias.scope !9, !noalias !11
  %index.next118 = add nuw i64 %index115, 4
  %86 = icmp eq i64 %n.vec107, %index.next118
  br i1 %86, label %vec.epilog.middle.block119, label %vec.epilog.vector.body114, !llvm.loop !16

vec.epilog.middle.block119:                       ; preds = %vec.epilog.vector.body114
  br i1 %18, label %B246.B78.loopexit_crit_edge.us.us, label %B248.us145.us.preheader

B248.us145.us.preheader:                          ; preds = %vec.epilog.middle.block119, %vec.epilog.iter.check103, %iter.check80
  %.293125129.us146.us.ph = phi i64 [ %..251.us, %iter.check80 ], [ %11, %vec.epilog.middle.block119 ], [ %ind.end123, %vec.epilog.iter.check103 ]
  %.300126128.us147.us.ph = phi i64 [ %done.2.0.us, %iter.check80 ], [ %12, %vec.epilog.middle.block119 ], [ %ind.end124, %vec.epilog.iter.check103 ]
  %87 = add nuw i64 %.293125129.us146.us.ph, 1
  %88 = shl i64 %.300126128.us147.us.ph, 3
  %sunkaddr207 = shl i64 %.143133139.us.us, 3
  %sunkaddr208 = getelementptr i8, ptr %arg.big, i64 %sunkaddr207
  %sunkaddr210 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr207
  br label %B248.us145.us

iter.check:                                       ; preds = %B80.endif.us.us
  br i1 %brmerge129, label %B248.us.us.us.preheader, label %vector.main.loop.iter.check

vector.main.loop.iter.check:                      ; preds = %iter.check
  br i1 %20, label %vec.epilog.ph, label %vector.ph

vector.ph:                                        ; preds = %vector.main.loop.iter.check
  %sunkaddr199 = shl i64 %.143133139.us.us, 3
  %sunkaddr200 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr199
  %89 = load i64, ptr %sunkaddr200, align 8, !alias.scope !17
  %sunkaddr202 = getelementptr i8, ptr %arg.big, i64 %sunkaddr199
  %90 = load i64, ptr %sunkaddr202, align 8, !alias.scope !20
  %broadcast.splatinsert = insertelement <8 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat = shufflevector <8 x i64> %broadcast.splatinsert, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert31 = insertelement <8 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat32 = shufflevector <8 x i64> %broadcast.splatinsert31, <8 x i64> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert33 = insertelement <8 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat34 = shufflevector <8 x double> %broadcast.splatinsert33, <8 x double> poison, <8 x i32> zeroinitializer
  %broadcast.splatinsert35 = insertelement <8 x double> poison, double %.209.us.us.fr, i64 0
  %broadcast.splat36 = shufflevector <8 x double> %broadcast.splatinsert35, <8 x double> poison, <8 x i32> zeroinitializer
  %91 = icmp eq i64 %89, 0
  %92 = icmp eq i64 %90, 0
  br label %vector.body

vector.body:                                      ; preds = %vector.body, %vector.ph
  %index = phi i64 [ 0, %vector.ph ], [ %index.next, %vector.body ]
  %93 = shl i64 %index, 3
  %scevgep179 = getelementptr i8, ptr %scevgep144, i64 %93
  %scevgep180 = getelementptr i8, ptr %scevgep179, i64 -192
  %scevgep178 = getelementptr i8, ptr %scevgep179, i64 -128
  %scevgep176 = getelementptr i8, ptr %scevgep179, i64 -64
  %wide.load = load <8 x i64>, ptr %scevgep180, align 8, !alias.scope !22
  %wide.load37 = load <8 x i64>, ptr %scevgep178, align 8, !alias.scope !22
  %wide.load38 = load <8 x i64>, ptr %scevgep176, align 8, !alias.scope !22
  %wide.load39 = load <8 x i64>, ptr %scevgep179, align 8, !alias.scope !22
  %94 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load)
  %95 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load37)
  %96 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load38)
  %97 = tail call <8 x i64> @llvm.bswap.v8i64(<8 x i64> %wide.load39)
  %98 = select i1 %92, <8 x i64> %wide.load, <8 x i64> %94
  %99 = select i1 %92, <8 x i64> %wide.load37, <8 x i64> %95
  %100 = select i1 %92, <8 x i64> %wide.load38, <8 x i64> %96
  %101 = select i1 %92, <8 x i64> %wide.load39, <8 x i64> %97
  %102 = lshr <8 x i64> %98, %broadcast.splat
  %103 = lshr <8 x i64> %99, %broadcast.splat
  %104 = lshr <8 x i64> %100, %broadcast.splat
  %105 = lshr <8 x i64> %101, %broadcast.splat
  %106 = shl <8 x i64> %102, %broadcast.splat32
  %107 = shl <8 x i64> %103, %broadcast.splat32
  %108 = shl <8 x i64> %104, %broadcast.splat32
  %109 = shl <8 x i64> %105, %broadcast.splat32
  %110 = ashr exact <8 x i64> %106, %broadcast.splat32
  %111 = ashr exact <8 x i64> %107, %broadcast.splat32
  %112 = ashr exact <8 x i64> %108, %broadcast.splat32
  %113 = ashr exact <8 x i64> %109, %broadcast.splat32
  %114 = sitofp <8 x i64> %110 to <8 x double>
  %115 = sitofp <8 x i64> %111 to <8 x double>
  %116 = sitofp <8 x i64> %112 to <8 x double>
  %117 = sitofp <8 x i64> %113 to <8 x double>
  %118 = lshr exact <8 x i64> %106, %broadcast.splat32
  %119 = lshr exact <8 x i64> %107, %broadcast.splat32
  %120 = lshr exact <8 x i64> %108, %broadcast.splat32
  %121 = lshr exact <8 x i64> %109, %broadcast.splat32
  %122 = uitofp <8 x i64> %118 to <8 x double>
  %123 = uitofp <8 x i64> %119 to <8 x double>
  %124 = uitofp <8 x i64> %120 to <8 x double>
  %125 = uitofp <8 x i64> %121 to <8 x double>
  %126 = select i1 %91, <8 x double> %122, <8 x double> %114
  %127 = select i1 %91, <8 x double> %123, <8 x double> %115
  %128 = select i1 %91, <8 x double> %124, <8 x double> %116
  %129 = select i1 %91, <8 x double> %125, <8 x double> %117
  %130 = fmul <8 x double> %broadcast.splat34, %126
  %131 = fmul <8 x double> %broadcast.splat34, %127
  %132 = fmul <8 x double> %broadcast.splat34, %128
  %133 = fmul <8 x double> %broadcast.splat34, %129
  %134 = fadd <8 x double> %broadcast.splat36, %130
  %135 = fadd <8 x double> %broadcast.splat36, %131
  %136 = fadd <8 x double> %broadcast.splat36, %132
  %137 = fadd <8 x double> %broadcast.splat36, %133
  %scevgep170 = getelementptr i8, ptr %lsr.iv, i64 %93
  %scevgep171 = getelementptr i8, ptr %scevgep170, i64 -192
  %scevgep169 = getelementptr i8, ptr %scevgep170, i64 -128
  %scevgep167 = getelementptr i8, ptr %scevgep170, i64 -64
  store <8 x double> %134, ptr %scevgep171, align 8, !alias.scope !24, !noalias !26
  store <8 x double> %135, ptr %scevgep169, align 8, !alias.scope !24, !noalias !26
  store <8 x double> %136, ptr %scevgep167, align 8, !alias.scope !24, !noalias !26
  store <8 x double> %137, ptr %scevgep170, align 8, !alias.scope !24, !noalias !26
  %index.next = add nuw i64 %index, 32
  %138 = icmp eq i64 %n.vec85, %index.next
  br i1 %138, label %middle.block, label %vector.body, !llvm.loop !27

middle.block:                                     ; preds = %vector.body
  br i1 %21, label %B246.B78.loopexit_crit_edge.us.us, label %vec.epilog.iter.check

vec.epilog.iter.check:                            ; preds = %middle.block
  br i1 %23, label %B248.us.us.us.preheader, label %vec.epilog.ph, !prof !15

vec.epilog.ph:                                    ; preds = %vec.epilog.iter.check, %vector.main.loop.iter.check
  %vec.epilog.resume.val = phi i64 [ %n.vec85, %vec.epilog.iter.check ], [ 0, %vector.main.loop.iter.check ]
  %sunkaddr203 = shl i64 %.143133139.us.us, 3
  %sunkaddr204 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr203
  %139 = load i64, ptr %sunkaddr204, align 8, !alias.scope !17
  %sunkaddr206 = getelementptr i8, ptr %arg.big, i64 %sunkaddr203
  %140 = load i64, ptr %sunkaddr206, align 8, !alias.scope !20
  %broadcast.splatinsert42 = insertelement <4 x i64> poison, i64 %.189.us.us, i64 0
  %broadcast.splat43 = shufflevector <4 x i64> %broadcast.splatinsert42, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert44 = insertelement <4 x i64> poison, i64 %.182.us.us, i64 0
  %broadcast.splat45 = shufflevector <4 x i64> %broadcast.splatinsert44, <4 x i64> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert46 = insertelement <4 x double> poison, double %.202.us.us, i64 0
  %broadcast.splat47 = shufflevector <4 x double> %broadcast.splatinsert46, <4 x double> poison, <4 x i32> zeroinitializer
  %broadcast.splatinsert48 = insertelement <4 x double> poison, double %.209.us.us.fr, i64 0
  %broadcast.splat49 = shufflevector <4 x double> %broadcast.splatinsert48, <4 x double> poison, <4 x i32> zeroinitializer
  %141 = icmp eq i64 %139, 0
  %142 = icmp eq i64 %140, 0
  br label %vec.epilog.vector.body

vec.epilog.vector.body:                           ; preds = %vec.epilog.vector.body, %vec.epilog.ph
  %index50 = phi i64 [ %vec.epilog.resume.val, %vec.epilog.ph ], [ %index.next52, %vec.epilog.vector.body ]
  %143 = shl i64 %index50, 3
  %scevgep182 = getelementptr i8, ptr %scevgep17, i64 %143
  %wide.load51 = load <4 x i64>, ptr %scevgep182, align 8, !alias.scope !22
  %144 = tail call <4 x i64> @llvm.bswap.v4i64(<4 x i64> %wide.load51)
  %145 = select i1 %142, <4 x i64> %wide.load51, <4 x i64> %144
  %146 = lshr <4 x i64> %145, %broadcast.splat43
  %147 = shl <4 x i64> %146, %broadcast.splat45
  %148 = ashr exact <4 x i64> %147, %broadcast.splat45
  %149 = sitofp <4 x i64> %148 to <4 x double>
  %150 = lshr exact <4 x i64> %147, %broadcast.splat45
  %151 = uitofp <4 x i64> %150 to <4 x double>
  %152 = select i1 %141, <4 x double> %151, <4 x double> %149
  %153 = fmul <4 x double> %broadcast.splat47, %152
  %154 = fadd <4 x double> %broadcast.splat49, %153
  %scevgep181 = getelementptr i8, ptr %lsr.iv153, i64 %143
  store <4 x double> %154, ptr %scevgep181, align 8, !alias.scope !24, !noalias !26
  %index.next52 = add nuw i64 %index50, 4
  %155 = icmp eq i64 %n.vec107, %index.next52
  br i1 %155, label %vec.epilog.middle.block, label %vec.epilog.vector.body, !llvm.loop !28

vec.epilog.middle.block:                          ; preds = %vec.epilog.vector.body
  br i1 %24, label %B246.B78.loopexit_crit_edge.us.us, label %B248.us.us.us.preheader

B248.us.us.us.preheader:                          ; preds = %vec.epilog.middle.block, %vec.epilog.iter.check, %iter.check
  %.293125129.us.us.us.ph = phi i64 [ %..251.us, %iter.check ], [ %11, %vec.epilog.middle.block ], [ %ind.end123, %vec.epilog.iter.check ]
  %.300126128.us.us.us.ph = phi i64 [ %done.2.0.us, %iter.check ], [ %12, %vec.epilog.middle.block ], [ %ind.end124, %vec.epilog.iter.check ]
  %156 = add nuw i64 %.293125129.us.us.us.ph, 1
  %157 = shl i64 %.300126128.us.us.us.ph, 3
  %sunkaddr211 = shl i64 %.143133139.us.us, 3
  %sunkaddr212 = getelementptr i8, ptr %arg.big, i64 %sunkaddr211
  %sunkaddr214 = getelementptr i8, ptr %arg.signed, i64 %sunkaddr211
  br label %B248.us.us.us

B248.us145.us:                                    ; preds = %B248.us145.us, %B248.us145.us.preheader
  %lsr.iv161 = phi i64 [ %88, %B248.us145.us.preheader ], [ %lsr.iv.next162, %B248.us145.us ]
  %lsr.iv158 = phi i64 [ %87, %B248.us145.us.preheader ], [ %lsr.iv.next, %B248.us145.us ]
  %scevgep164 = getelementptr i8, ptr %arg.data, i64 %lsr.iv161
  %.338.us151.us = load i64, ptr %scevgep164, align 8
  %.349.us152.us = load i64, ptr %sunkaddr208, align 8
  %.350.not.us153.us = icmp eq i64 %.349.us152.us, 0
  %.353.us154.us = tail call i64 @llvm.bswap.i64(i64 %.338.us151.us)
  %spec.select123.us155.us = select i1 %.350.not.us153.us, i64 %.338.us151.us, i64 %.353.us154.us
  %.363.us156.us = lshr i64 %spec.select123.us155.us, %.189.us.us
  %.367.us157.us = shl i64 %.363.us156.us, %.182.us.us
  %.374.us158.us = load i64, ptr %sunkaddr210, align 8
  %.375.not.us159.us = icmp eq i64 %.374.us158.us, 0
  %.381.us160.us = ashr exact i64 %.367.us157.us, %.182.us.us
  %.382.us161.us = sitofp i64 %.381.us160.us to double
  %.389.us162.us = lshr exact i64 %.367.us157.us, %.182.us.us
  %.392.us163.us = uitofp i64 %.389.us162.us to double
  %"$phi486.2.2.3.us164.us" = select i1 %.375.not.us159.us, double %.392.us163.us, double %.382.us161.us
  %.400.us165.us = fmul double %.202.us.us, %"$phi486.2.2.3.us164.us"
  %scevgep163 = getelementptr i8, ptr %lsr.iv159, i64 %lsr.iv161
  store double %.400.us165.us, ptr %scevgep163, align 8
  %lsr.iv.next = add i64 %lsr.iv158, -1
  %lsr.iv.next162 = add i64 %lsr.iv161, 8
  %.294.us167.us = icmp sgt i64 %lsr.iv.next, 1
  br i1 %.294.us167.us, label %B248.us145.us, label %B246.B78.loopexit_crit_edge.us.us, !llvm.loop !29

B246.B78.loopexit_crit_edge.us.us:                ; preds = %B248.us145.us, %B248.us.us.us, %vec.epilog.middle.block, %middle.block, %vec.epilog.middle.block119, %middle.block99
  %scevgep135 = getelementptr i8, ptr %lsr.iv, i64 %4
  %scevgep154 = getelementptr i8, ptr %lsr.iv153, i64 %4
  %scevgep160 = getelementptr i8, ptr %lsr.iv159, i64 %4
  %exitcond.not = icmp eq i64 %arg.count, %.150.us.us
  br i1 %exitcond.not, label %B78.B540_crit_edge.us, label %B80.endif.us.us

B248.us.us.us:                                    ; preds = %B248.us.us.us, %B248.us.us.us.preheader
  %lsr.iv185 = phi i64 [ %157, %B248.us.us.us.preheader ], [ %lsr.iv.next186, %B248.us.us.us ]
  %lsr.iv183 = phi i64 [ %156, %B248.us.us.us.preheader ], [ %lsr.iv.next184, %B248.us.us.us ]
  %scevgep188 = getelementptr i8, ptr %arg.data, i64 %lsr.iv185
  %.338.us.us.us = load i64, ptr %scevgep188, align 8
  %.349.us.us.us = load i64, ptr %sunkaddr212, align 8
  %.350.not.us.us.us = icmp eq i64 %.349.us.us.us, 0
  %.353.us.us.us = tail call i64 @llvm.bswap.i64(i64 %.338.us.us.us)
  %spec.select123.us.us.us = select i1 %.350.not.us.us.us, i64 %.338.us.us.us, i64 %.353.us.us.us
  %.363.us.us.us = lshr i64 %spec.select123.us.us.us, %.189.us.us
  %.367.us.us.us = shl i64 %.363.us.us.us, %.182.us.us
  %.374.us.us.us = load i64, ptr %sunkaddr214, align 8
  %.375.not.us.us.us = icmp eq i64 %.374.us.us.us, 0
  %.381.us.us.us = ashr exact i64 %.367.us.us.us, %.182.us.us
  %.382.us.us.us = sitofp i64 %.381.us.us.us to double
  %.389.us.us.us = lshr exact i64 %.367.us.us.us, %.182.us.us
  %.392.us.us.us = uitofp i64 %.389.us.us.us to double
  %"$phi486.2.2.3.us.us.us" = select i1 %.375.not.us.us.us, double %.392.us.us.us, double %.382.us.us.us
  %.400.us.us.us = fmul double %.202.us.us, %"$phi486.2.2.3.us.us.us"
  %.413.us.us.us = fadd double %.209.us.us.fr, %.400.us.us.us
  %scevgep187 = getelementptr i8, ptr %lsr.iv159, i64 %lsr.iv185
  store double %.413.us.us.us, ptr %scevgep187, align 8
  %lsr.iv.next184 = add i64 %lsr.iv183, -1
  %lsr.iv.next186 = add i64 %lsr.iv185, 8
  %.294.us.us.us = icmp sgt i64 %lsr.iv.next184, 1
  br i1 %.294.us.us.us, label %B248.us.us.us, label %B246.B78.loopexit_crit_edge.us.us, !llvm.loop !30

B22:                                              ; preds = %B22.preheader, %B22
  %done.2.0 = phi i64 [ %spec.select, %B22 ], [ 0, %B22.preheader ]
  %.44 = add nsw i64 %done.2.0, 2048
  %spec.select = tail call i64 @llvm.smin.i64(i64 %.44, i64 %arg.n)
  %.460 = icmp slt i64 %.44, %arg.n
  br i1 %.460, label %B22, label %B558

B558:                                             ; preds = %B78.B540_crit_edge.us, %B22, %B0
  store i64 %arg.count, ptr %retptr, align 8
  ret void
}

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare i64 @llvm.smin.i64(i64, i64) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <8 x i64> @llvm.bswap.v8i64(<8 x i64>) #1

; Function Attrs: mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none)
declare <4 x i64> @llvm.bswap.v4i64(<4 x i64>) #1

; Function Attrs: nofree norecurse nosync nounwind memory(argmem: readwrite)
define i64 @signals(ptr readonly %.1, i64 %.2, i64 %.3, ptr readonly %.4, ptr readonly %.5, ptr readonly %.6, ptr readonly %.7, ptr readonly %.8, ptr readonly %.9, ptr writeonly %.10) local_unnamed_addr #0 {
entry:
  %.12 = alloca i64, align 8
  store i64 0, ptr %.12, align 8
  call fastcc void @inside_signals(ptr nonnull %.12, ptr %.1, i64 %.2, i64 %.3, ptr %.4, ptr %.5, ptr %.6, ptr %.7, ptr %.8, ptr %.9, ptr %.10) #4
  %.26 = load i64, ptr %.12, align 8
  ret i64 %.26
}

; Function Attrs: nofree norecurse nosync nounwind memory(read, argmem: readwrite, inaccessiblemem: none, target_mem0: none, target_mem1: none)
define internal fastcc void @inside_middle(ptr noalias nonnull writeonly %retptr, ptr readonly %arg.x, i64 %arg.n, ptr readonly %arg.low, ptr readonly %arg.high, ptr %arg.counts, ptr %arg.room, ptr writeonly %arg.pair) unnamed_addr #3 {
B100.preheader:
  %.115 = load double, ptr %arg.high, align 8
  %.110 = load double, ptr %arg.low, align 8
  %.70.1 = ashr i64 %arg.n, 1
  %.19 = add nsw i64 %arg.n, -1
  %.27.1 = ashr i64 %.19, 1
  %scevgep58 = getelementptr i8, ptr %arg.counts, i64 88
  %scevgep81 = getelementptr i8, ptr %arg.counts, i64 8
  br label %B100

B100:                                             ; preds = %B2741, %B100.preheader
  %lsr.iv82 = phi ptr [ %scevgep81, %B100.preheader ], [ %scevgep83, %B2741 ]
  %lsr.iv = phi ptr [ %scevgep58, %B100.preheader ], [ %scevgep59, %B2741 ]
  %hi.2.0435 = phi double [ %.115, %B100.preheader ], [ %above.2.1.lcssa, %B2741 ]
  %lo.2.0434 = phi double [ %.110, %B100.preheader ], [ %below.2.1.lcssa, %B2741 ]
  %left.2.0433 = phi i64 [ %arg.n, %B100.preheader ], [ %kept.2.1.lcssa, %B2741 ]
  %second.2.0432 = phi i64 [ %.70.1, %B100.preheader ], [ %.1323, %B2741 ]
  %first.2.0431 = phi i64 [ %.27.1, %B100.preheader ], [ %.1318, %B2741 ]
  %.206391429 = phi i64 [ 0, %B100.preheader ], [ %.213, %B2741 ]
  %.213 = add nuw nsw i64 %.206391429, 1
  %.243 = fcmp oeq double %lo.2.0434, %hi.2.0435
  br i1 %.243, label %common.ret.sink.split, label %B140

common.ret.sink.split:                            ; preds = %B2725, %B100
  %most.2.1.lcssa.lcssa.sink = phi double [ %lo.2.0434, %B100 ], [ %most.2.1.lcssa, %B2725 ]
  %least.2.1.lcssa.lcssa.sink = phi double [ %hi.2.0435, %B100 ], [ %least.2.1.lcssa, %B2725 ]
  store double %most.2.1.lcssa.lcssa.sink, ptr %arg.pair, align 8
  %.1304 = getelementptr i8, ptr %arg.pair, i64 8
  store double %least.2.1.lcssa.lcssa.sink, ptr %.1304, align 8
  br label %common.ret

common.ret:                                       ; preds = %B2741, %B140, %common.ret.sink.split
  %.sink = phi i64 [ 0, %common.ret.sink.split ], [ -1, %B140 ], [ -1, %B2741 ]
  store i64 %.sink, ptr %retptr, align 8
  ret void

B140:                                             ; preds = %B100
  %.279 = fsub double %hi.2.0435, %lo.2.0434
  %.283 = fdiv double 1.024000e+03, %.279
  %.288 = fcmp ogt double %.283, 1.000000e-290
  %.295 = fcmp olt double %.283, 1.000000e+290
  %or.cond = and i1 %.288, %.295
  br i1 %or.cond, label %B182, label %common.ret

B182:                                             ; preds = %B140
  %.300 = shl nsw i64 %.206391429, 10
  %.305 = icmp eq i64 %.206391429, 0
  %0 = icmp slt i64 %left.2.0433, 1
  br i1 %.305, label %B184.endif, label %B362.endif

B192:                                             ; preds = %B192.preheader.new, %B330.3
  %.393365367 = phi i64 [ 0, %B192.preheader.new ], [ %.400.3, %B330.3 ]
  %sunkaddr = shl i64 %.393365367, 3
  %sunkaddr89 = getelementptr i8, ptr %arg.x, i64 %sunkaddr
  %.428 = load double, ptr %sunkaddr89, align 8
  %.431 = fsub double %.428, %lo.2.0434
  %.432 = fmul double %.283, %.431
  %.436 = fcmp ult double %.432, 0.000000e+00
  br i1 %.436, label %B330, label %B244

B244:                                             ; preds = %B192
  %.446 = fcmp ogt double %.432, 1.023000e+03
  br i1 %.446, label %B246, label %B330

B246:                                             ; preds = %B244
  br label %B330

B330:                                             ; preds = %B246, %B244, %B192
  %bin_of_v12_f.4.2 = phi double [ 1.023000e+03, %B246 ], [ %.432, %B244 ], [ 0.000000e+00, %B192 ]
  %.454 = fptosi double %bin_of_v12_f.4.2 to i64
  %.460 = getelementptr i64, ptr %arg.counts, i64 %.454
  %.461 = load i64, ptr %.460, align 8
  %.462 = add nsw i64 %.461, 1
  store i64 %.462, ptr %.460, align 8
  %sunkaddr92 = getelementptr i8, ptr %sunkaddr89, i64 8
  %.428.1 = load double, ptr %sunkaddr92, align 8
  %.431.1 = fsub double %.428.1, %lo.2.0434
  %.432.1 = fmul double %.283, %.431.1
  %.436.1 = fcmp ult double %.432.1, 0.000000e+00
  br i1 %.436.1, label %B330.1, label %B244.1

B244.1:                                           ; preds = %B330
  %.446.1 = fcmp ogt double %.432.1, 1.023000e+03
  br i1 %.446.1, label %B246.1, label %B330.1

B246.1:                                           ; preds = %B244.1
  br label %B330.1

B330.1:                                           ; preds = %B246.1, %B244.1, %B330
  %bin_of_v12_f.4.2.1 = phi double [ 1.023000e+03, %B246.1 ], [ %.432.1, %B244.1 ], [ 0.000000e+00, %B330 ]
  %.454.1 = fptosi double %bin_of_v12_f.4.2.1 to i64
  %.460.1 = getelementptr i64, ptr %arg.counts, i64 %.454.1
  %.461.1 = load i64, ptr %.460.1, align 8
  %.462.1 = add nsw i64 %.461.1, 1
  store i64 %.462.1, ptr %.460.1, align 8
  %sunkaddr95 = getelementptr i8, ptr %sunkaddr89, i64 16
  %.428.2 = load double, ptr %sunkaddr95, align 8
  %.431.2 = fsub double %.428.2, %lo.2.0434
  %.432.2 = fmul double %.283, %.431.2
  %.436.2 = fcmp ult double %.432.2, 0.000000e+00
  br i1 %.436.2, label %B330.2, label %B244.2

B244.2:                                           ; preds = %B330.1
  %.446.2 = fcmp ogt double %.432.2, 1.023000e+03
  br i1 %.446.2, label %B246.2, label %B330.2

B246.2:                                           ; preds = %B244.2
  br label %B330.2

B330.2:                                           ; preds = %B246.2, %B244.2, %B330.1
  %bin_of_v12_f.4.2.2 = phi double [ 1.023000e+03, %B246.2 ], [ %.432.2, %B244.2 ], [ 0.000000e+00, %B330.1 ]
  %.454.2 = fptosi double %bin_of_v12_f.4.2.2 to i64
  %.460.2 = getelementptr i64, ptr %arg.counts, i64 %.454.2
  %.461.2 = load i64, ptr %.460.2, align 8
  %.462.2 = add nsw i64 %.461.2, 1
  store i64 %.462.2, ptr %.460.2, align 8
  %.400.3 = add nuw nsw i64 %.393365367, 4
  %sunkaddr98 = getelementptr i8, ptr %sunkaddr89, i64 24
  %.428.3 = load double, ptr %sunkaddr98, align 8
  %.431.3 = fsub double %.428.3, %lo.2.0434
  %.432.3 = fmul double %.283, %.431.3
  %.436.3 = fcmp ult double %.432.3, 0.000000e+00
  br i1 %.436.3, label %B330.3, label %B244.3

B244.3:                                           ; preds = %B330.2
  %.446.3 = fcmp ogt double %.432.3, 1.023000e+03
  br i1 %.446.3, label %B246.3, label %B330.3

B246.3:                                           ; preds = %B244.3
  br label %B330.3

B330.3:                                           ; preds = %B246.3, %B244.3, %B330.2
  %bin_of_v12_f.4.2.3 = phi double [ 1.023000e+03, %B246.3 ], [ %.432.3, %B244.3 ], [ 0.000000e+00, %B330.2 ]
  %.454.3 = fptosi double %bin_of_v12_f.4.2.3 to i64
  %.460.3 = getelementptr i64, ptr %arg.counts, i64 %.454.3
  %.461.3 = load i64, ptr %.460.3, align 8
  %.462.3 = add nsw i64 %.461.3, 1
  store i64 %.462.3, ptr %.460.3, align 8
  %niter25.ncmp.3 = icmp eq i64 %unroll_iter24, %.400.3
  br i1 %niter25.ncmp.3, label %B646.loopexit.unr-lcssa, label %B192

B448:                                             ; preds = %B448.lr.ph.new, %B590.3
  %.558359361 = phi i64 [ 0, %B448.lr.ph.new ], [ %.565.3, %B590.3 ]
  %sunkaddr99 = shl i64 %.558359361, 3
  %sunkaddr100 = getelementptr i8, ptr %arg.room, i64 %sunkaddr99
  %.593 = load double, ptr %sunkaddr100, align 8
  %.596 = fsub double %.593, %lo.2.0434
  %.597 = fmul double %.283, %.596
  %.601 = fcmp ult double %.597, 0.000000e+00
  br i1 %.601, label %B590, label %B504

B504:                                             ; preds = %B448
  %.611 = fcmp ogt double %.597, 1.023000e+03
  br i1 %.611, label %B554, label %B590

B554:                                             ; preds = %B504
  br label %B590

B590:                                             ; preds = %B554, %B504, %B448
  %bin_of_v11_f.4.3 = phi double [ 1.023000e+03, %B554 ], [ %.597, %B504 ], [ 0.000000e+00, %B448 ]
  %.619 = fptosi double %bin_of_v11_f.4.3 to i64
  %.625 = getelementptr i64, ptr %19, i64 %.619
  %.626 = load i64, ptr %.625, align 8
  %.627 = add nsw i64 %.626, 1
  store i64 %.627, ptr %.625, align 8
  %sunkaddr103 = getelementptr i8, ptr %sunkaddr100, i64 8
  %.593.1 = load double, ptr %sunkaddr103, align 8
  %.596.1 = fsub double %.593.1, %lo.2.0434
  %.597.1 = fmul double %.283, %.596.1
  %.601.1 = fcmp ult double %.597.1, 0.000000e+00
  br i1 %.601.1, label %B590.1, label %B504.1

B504.1:                                           ; preds = %B590
  %.611.1 = fcmp ogt double %.597.1, 1.023000e+03
  br i1 %.611.1, label %B554.1, label %B590.1

B554.1:                                           ; preds = %B504.1
  br label %B590.1

B590.1:                                           ; preds = %B554.1, %B504.1, %B590
  %bin_of_v11_f.4.3.1 = phi double [ 1.023000e+03, %B554.1 ], [ %.597.1, %B504.1 ], [ 0.000000e+00, %B590 ]
  %.619.1 = fptosi double %bin_of_v11_f.4.3.1 to i64
  %.625.1 = getelementptr i64, ptr %19, i64 %.619.1
  %.626.1 = load i64, ptr %.625.1, align 8
  %.627.1 = add nsw i64 %.626.1, 1
  store i64 %.627.1, ptr %.625.1, align 8
  %sunkaddr106 = getelementptr i8, ptr %sunkaddr100, i64 16
  %.593.2 = load double, ptr %sunkaddr106, align 8
  %.596.2 = fsub double %.593.2, %lo.2.0434
  %.597.2 = fmul double %.283, %.596.2
  %.601.2 = fcmp ult double %.597.2, 0.000000e+00
  br i1 %.601.2, label %B590.2, label %B504.2

B504.2:                                           ; preds = %B590.1
  %.611.2 = fcmp ogt double %.597.2, 1.023000e+03
  br i1 %.611.2, label %B554.2, label %B590.2

B554.2:                                           ; preds = %B504.2
  br label %B590.2

B590.2:                                           ; preds = %B554.2, %B504.2, %B590.1
  %bin_of_v11_f.4.3.2 = phi double [ 1.023000e+03, %B554.2 ], [ %.597.2, %B504.2 ], [ 0.000000e+00, %B590.1 ]
  %.619.2 = fptosi double %bin_of_v11_f.4.3.2 to i64
  %.625.2 = getelementptr i64, ptr %19, i64 %.619.2
  %.626.2 = load i64, ptr %.625.2, align 8
  %.627.2 = add nsw i64 %.626.2, 1
  store i64 %.627.2, ptr %.625.2, align 8
  %.565.3 = add nuw nsw i64 %.558359361, 4
  %sunkaddr109 = getelementptr i8, ptr %sunkaddr100, i64 24
  %.593.3 = load double, ptr %sunkaddr109, align 8
  %.596.3 = fsub double %.593.3, %lo.2.0434
  %.597.3 = fmul double %.283, %.596.3
  %.601.3 = fcmp ult double %.597.3, 0.000000e+00
  br i1 %.601.3, label %B590.3, label %B504.3

B504.3:                                           ; preds = %B590.2
  %.611.3 = fcmp ogt double %.597.3, 1.023000e+03
  br i1 %.611.3, label %B554.3, label %B590.3

B554.3:                                           ; preds = %B504.3
  br label %B590.3

B590.3:                                           ; preds = %B554.3, %B504.3, %B590.2
  %bin_of_v11_f.4.3.3 = phi double [ 1.023000e+03, %B554.3 ], [ %.597.3, %B504.3 ], [ 0.000000e+00, %B590.2 ]
  %.619.3 = fptosi double %bin_of_v11_f.4.3.3 to i64
  %.625.3 = getelementptr i64, ptr %19, i64 %.619.3
  %.626.3 = load i64, ptr %.625.3, align 8
  %.627.3 = add nsw i64 %.626.3, 1
  store i64 %.627.3, ptr %.625.3, align 8
  %niter.ncmp.3 = icmp eq i64 %unroll_iter, %.565.3
  br i1 %niter.ncmp.3, label %B646.loopexit17.unr-lcssa, label %B448

B646.loopexit.unr-lcssa:                          ; preds = %B330.3
  %lcmp.mod22.not = icmp eq i64 %xtraiter20, 0
  br i1 %lcmp.mod22.not, label %B646, label %B192.epil.preheader

B192.epil.preheader:                              ; preds = %B192.preheader, %B646.loopexit.unr-lcssa
  %.393365367.epil.init = phi i64 [ 0, %B192.preheader ], [ %.400.3, %B646.loopexit.unr-lcssa ]
  %1 = shl i64 %.393365367.epil.init, 3
  %scevgep56 = getelementptr i8, ptr %arg.x, i64 %1
  br label %B192.epil

B192.epil:                                        ; preds = %B330.epil, %B192.epil.preheader
  %epil.iter21 = phi i64 [ %epil.iter21.next, %B330.epil ], [ 0, %B192.epil.preheader ]
  %2 = shl nuw nsw i64 %epil.iter21, 3
  %scevgep57 = getelementptr i8, ptr %scevgep56, i64 %2
  %.428.epil = load double, ptr %scevgep57, align 8
  %.431.epil = fsub double %.428.epil, %lo.2.0434
  %.432.epil = fmul double %.283, %.431.epil
  %.436.epil = fcmp ult double %.432.epil, 0.000000e+00
  br i1 %.436.epil, label %B330.epil, label %B244.epil

B244.epil:                                        ; preds = %B192.epil
  %.446.epil = fcmp ogt double %.432.epil, 1.023000e+03
  br i1 %.446.epil, label %B246.epil, label %B330.epil

B246.epil:                                        ; preds = %B244.epil
  br label %B330.epil

B330.epil:                                        ; preds = %B246.epil, %B244.epil, %B192.epil
  %bin_of_v12_f.4.2.epil = phi double [ 1.023000e+03, %B246.epil ], [ %.432.epil, %B244.epil ], [ 0.000000e+00, %B192.epil ]
  %.454.epil = fptosi double %bin_of_v12_f.4.2.epil to i64
  %.460.epil = getelementptr i64, ptr %arg.counts, i64 %.454.epil
  %.461.epil = load i64, ptr %.460.epil, align 8
  %.462.epil = add nsw i64 %.461.epil, 1
  store i64 %.462.epil, ptr %.460.epil, align 8
  %epil.iter21.next = add i64 %epil.iter21, 1
  %epil.iter21.cmp.not = icmp eq i64 %xtraiter20, %epil.iter21.next
  br i1 %epil.iter21.cmp.not, label %B646, label %B192.epil, !llvm.loop !31

B646.loopexit17.unr-lcssa:                        ; preds = %B590.3
  %lcmp.mod.not = icmp eq i64 %xtraiter, 0
  br i1 %lcmp.mod.not, label %B646, label %B448.epil.preheader

B448.epil.preheader:                              ; preds = %B448.lr.ph, %B646.loopexit17.unr-lcssa
  %.558359361.epil.init = phi i64 [ 0, %B448.lr.ph ], [ %.565.3, %B646.loopexit17.unr-lcssa ]
  %3 = shl i64 %.558359361.epil.init, 3
  %scevgep46 = getelementptr i8, ptr %arg.room, i64 %3
  br label %B448.epil

B448.epil:                                        ; preds = %B590.epil, %B448.epil.preheader
  %epil.iter = phi i64 [ 0, %B448.epil.preheader ], [ %epil.iter.next, %B590.epil ]
  %4 = shl nuw nsw i64 %epil.iter, 3
  %scevgep47 = getelementptr i8, ptr %scevgep46, i64 %4
  %.593.epil = load double, ptr %scevgep47, align 8
  %.596.epil = fsub double %.593.epil, %lo.2.0434
  %.597.epil = fmul double %.283, %.596.epil
  %.601.epil = fcmp ult double %.597.epil, 0.000000e+00
  br i1 %.601.epil, label %B590.epil, label %B504.epil

B504.epil:                                        ; preds = %B448.epil
  %.611.epil = fcmp ogt double %.597.epil, 1.023000e+03
  br i1 %.611.epil, label %B554.epil, label %B590.epil

B554.epil:                                        ; preds = %B504.epil
  br label %B590.epil

B590.epil:                                        ; preds = %B554.epil, %B504.epil, %B448.epil
  %bin_of_v11_f.4.3.epil = phi double [ 1.023000e+03, %B554.epil ], [ %.597.epil, %B504.epil ], [ 0.000000e+00, %B448.epil ]
  %.619.epil = fptosi double %bin_of_v11_f.4.3.epil to i64
  %.625.epil = getelementptr i64, ptr %19, i64 %.619.epil
  %.626.epil = load i64, ptr %.625.epil, align 8
  %.627.epil = add nsw i64 %.626.epil, 1
  store i64 %.627.epil, ptr %.625.epil, align 8
  %epil.iter.next = add i64 %epil.iter, 1
  %epil.iter.cmp.not = icmp eq i64 %xtraiter, %epil.iter.next
  br i1 %epil.iter.cmp.not, label %B646, label %B448.epil, !llvm.loop !32

B646:                                             ; preds = %B590.epil, %B330.epil, %B362.endif, %B184.endif, %B646.loopexit17.unr-lcssa, %B646.loopexit.unr-lcssa
  %.675 = getelementptr i64, ptr %arg.counts, i64 %.300
  %.676 = load i64, ptr %.675, align 8
  %.682.not = icmp sgt i64 %.676, %first.2.0431
  br i1 %.682.not, label %B760, label %B696

B696:                                             ; preds = %B646, %B708.10
  %.692 = phi i64 [ %.735.10, %B708.10 ], [ %.676, %B646 ]
  %before.2.1 = phi i64 [ %.737.9, %B708.10 ], [ 0, %B646 ]
  %one.2.1 = phi i64 [ %.704.10, %B708.10 ], [ 0, %B646 ]
  %.694 = add nsw i64 %before.2.1, %.692
  %5 = shl nuw nsw i64 %one.2.1, 3
  %scevgep79 = getelementptr i8, ptr %lsr.iv, i64 %5
  %scevgep80 = getelementptr i8, ptr %scevgep79, i64 -80
  %.735 = load i64, ptr %scevgep80, align 8
  %.737 = add nsw i64 %.735, %.694
  %.741.not = icmp sgt i64 %.737, %first.2.0431
  br i1 %.741.not, label %B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit, label %B696.1

B696.1:                                           ; preds = %B696
  %scevgep78 = getelementptr i8, ptr %scevgep79, i64 -72
  %.735.1 = load i64, ptr %scevgep78, align 8
  %.737.1 = add nsw i64 %.735.1, %.737
  %.741.not.1 = icmp sgt i64 %.737.1, %first.2.0431
  br i1 %.741.not.1, label %B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge, label %B696.2

B696.2:                                           ; preds = %B696.1
  %scevgep76 = getelementptr i8, ptr %scevgep79, i64 -64
  %.735.2 = load i64, ptr %scevgep76, align 8
  %.737.2 = add nsw i64 %.735.2, %.737.1
  %.741.not.2 = icmp sgt i64 %.737.2, %first.2.0431
  br i1 %.741.not.2, label %B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge, label %B696.3

B696.3:                                           ; preds = %B696.2
  %scevgep74 = getelementptr i8, ptr %scevgep79, i64 -56
  %.735.3 = load i64, ptr %scevgep74, align 8
  %.737.3 = add nsw i64 %.735.3, %.737.2
  %.741.not.3 = icmp sgt i64 %.737.3, %first.2.0431
  br i1 %.741.not.3, label %B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge, label %B696.4

B696.4:                                           ; preds = %B696.3
  %scevgep72 = getelementptr i8, ptr %scevgep79, i64 -48
  %.735.4 = load i64, ptr %scevgep72, align 8
  %.737.4 = add nsw i64 %.735.4, %.737.3
  %.741.not.4 = icmp sgt i64 %.737.4, %first.2.0431
  br i1 %.741.not.4, label %B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge, label %B696.5

B696.5:                                           ; preds = %B696.4
  %scevgep70 = getelementptr i8, ptr %scevgep79, i64 -40
  %.735.5 = load i64, ptr %scevgep70, align 8
  %.737.5 = add nsw i64 %.735.5, %.737.4
  %.741.not.5 = icmp sgt i64 %.737.5, %first.2.0431
  br i1 %.741.not.5, label %B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge, label %B696.6

B696.6:                                           ; preds = %B696.5
  %scevgep68 = getelementptr i8, ptr %scevgep79, i64 -32
  %.735.6 = load i64, ptr %scevgep68, align 8
  %.737.6 = add nsw i64 %.735.6, %.737.5
  %.741.not.6 = icmp sgt i64 %.737.6, %first.2.0431
  br i1 %.741.not.6, label %B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge, label %B696.7

B696.7:                                           ; preds = %B696.6
  %scevgep66 = getelementptr i8, ptr %scevgep79, i64 -24
  %.735.7 = load i64, ptr %scevgep66, align 8
  %.737.7 = add nsw i64 %.735.7, %.737.6
  %.741.not.7 = icmp sgt i64 %.737.7, %first.2.0431
  br i1 %.741.not.7, label %B696.7.B760.loopexitsplitsplitsplit_crit_edge, label %B696.8

B696.8:                                           ; preds = %B696.7
  %scevgep64 = getelementptr i8, ptr %scevgep79, i64 -16
  %.735.8 = load i64, ptr %scevgep64, align 8
  %.737.8 = add nsw i64 %.735.8, %.737.7
  %.741.not.8 = icmp sgt i64 %.737.8, %first.2.0431
  br i1 %.741.not.8, label %B696.8.B760.loopexitsplitsplit_crit_edge, label %B696.9

B696.9:                                           ; preds = %B696.8
  %scevgep62 = getelementptr i8, ptr %scevgep79, i64 -8
  %.735.9 = load i64, ptr %scevgep62, align 8
  %.737.9 = add nsw i64 %.735.9, %.737.8
  %.741.not.9 = icmp sgt i64 %.737.9, %first.2.0431
  br i1 %.741.not.9, label %B696.9.B760.loopexitsplit_crit_edge, label %B696.10

B696.10:                                          ; preds = %B696.9
  %exitcond481.not.10 = icmp eq i64 %one.2.1, 1012
  br i1 %exitcond481.not.10, label %B804.endif, label %B708.10

B708.10:                                          ; preds = %B696.10
  %.704.10 = add nuw nsw i64 %one.2.1, 11
  %.735.10 = load i64, ptr %scevgep79, align 8
  %.737.10 = add nsw i64 %.735.10, %.737.9
  %.741.not.10 = icmp sgt i64 %.737.10, %first.2.0431
  br i1 %.741.not.10, label %B760, label %B696

B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit: ; preds = %B696
  %6 = add nuw i64 %one.2.1, 1
  br label %B760

B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge: ; preds = %B696.1
  %7 = add nuw i64 %one.2.1, 2
  br label %B760

B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge: ; preds = %B696.2
  %8 = add nuw i64 %one.2.1, 3
  br label %B760

B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge: ; preds = %B696.3
  %9 = add nuw i64 %one.2.1, 4
  br label %B760

B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge: ; preds = %B696.4
  %10 = add nuw i64 %one.2.1, 5
  br label %B760

B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge: ; preds = %B696.5
  %11 = add nuw i64 %one.2.1, 6
  br label %B760

B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge: ; preds = %B696.6
  %12 = add nuw i64 %one.2.1, 7
  br label %B760

B696.7.B760.loopexitsplitsplitsplit_crit_edge:    ; preds = %B696.7
  %13 = add nuw i64 %one.2.1, 8
  br label %B760

B696.8.B760.loopexitsplitsplit_crit_edge:         ; preds = %B696.8
  %14 = add nuw i64 %one.2.1, 9
  br label %B760

B696.9.B760.loopexitsplit_crit_edge:              ; preds = %B696.9
  %15 = add nuw i64 %one.2.1, 10
  br label %B760

B760:                                             ; preds = %B708.10, %B696.9.B760.loopexitsplit_crit_edge, %B696.8.B760.loopexitsplitsplit_crit_edge, %B696.7.B760.loopexitsplitsplitsplit_crit_edge, %B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge, %B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge, %B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge, %B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge, %B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge, %B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge, %B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit, %B646
  %.769317 = phi i64 [ %.676, %B646 ], [ %.735, %B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit ], [ %.735.9, %B696.9.B760.loopexitsplit_crit_edge ], [ %.735.8, %B696.8.B760.loopexitsplitsplit_crit_edge ], [ %.735.7, %B696.7.B760.loopexitsplitsplitsplit_crit_edge ], [ %.735.6, %B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge ], [ %.735.5, %B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge ], [ %.735.4, %B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.735.3, %B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.735.2, %B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.735.1, %B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.735.10, %B708.10 ]
  %before.3.2.ph = phi i64 [ 0, %B646 ], [ %.694, %B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit ], [ %.737.8, %B696.9.B760.loopexitsplit_crit_edge ], [ %.737.7, %B696.8.B760.loopexitsplitsplit_crit_edge ], [ %.737.6, %B696.7.B760.loopexitsplitsplitsplit_crit_edge ], [ %.737.5, %B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge ], [ %.737.4, %B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge ], [ %.737.3, %B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.737.2, %B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.737.1, %B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.737, %B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.737.9, %B708.10 ]
  %one.3.2.ph = phi i64 [ 0, %B646 ], [ %6, %B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplitsplit ], [ %15, %B696.9.B760.loopexitsplit_crit_edge ], [ %14, %B696.8.B760.loopexitsplitsplit_crit_edge ], [ %13, %B696.7.B760.loopexitsplitsplitsplit_crit_edge ], [ %12, %B696.6.B760.loopexitsplitsplitsplitsplit_crit_edge ], [ %11, %B696.5.B760.loopexitsplitsplitsplitsplitsplit_crit_edge ], [ %10, %B696.4.B760.loopexitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %9, %B696.3.B760.loopexitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %8, %B696.2.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %7, %B696.1.B760.loopexitsplitsplitsplitsplitsplitsplitsplitsplitsplit_crit_edge ], [ %.704.10, %B708.10 ]
  %.771318 = add nsw i64 %before.3.2.ph, %.769317
  %.793.not = icmp sgt i64 %.771318, %second.2.0432
  br i1 %.793.not, label %B804.endif, label %B774

B774:                                             ; preds = %B760, %B774
  %two.2.2 = phi i64 [ %.801, %B774 ], [ %one.3.2.ph, %B760 ]
  %upto.2.2 = phi i64 [ %.817, %B774 ], [ %.771318, %B760 ]
  %.801 = add nuw nsw i64 %two.2.2, 1
  %16 = shl nuw nsw i64 %two.2.2, 3
  %scevgep84 = getelementptr i8, ptr %lsr.iv82, i64 %16
  %.815 = load i64, ptr %scevgep84, align 8
  %.817 = add nsw i64 %.815, %upto.2.2
  %.824 = icmp samesign ult i64 %two.2.2, 1022
  %.839 = icmp sle i64 %.817, %second.2.0432
  %or.cond343 = select i1 %.824, i1 %.839, i1 false
  br i1 %or.cond343, label %B774, label %B804.endif

B864:                                             ; preds = %B864.lr.ph.new, %B2721.1
  %above.2.1380 = phi double [ %lo.2.0434, %B864.lr.ph.new ], [ %above.3.2.1, %B2721.1 ]
  %below.2.1379 = phi double [ %hi.2.0435, %B864.lr.ph.new ], [ %below.3.2.1, %B2721.1 ]
  %least.2.1378 = phi double [ %hi.2.0435, %B864.lr.ph.new ], [ %least.3.2.1, %B2721.1 ]
  %most.2.1377 = phi double [ %lo.2.0434, %B864.lr.ph.new ], [ %most.3.2.1, %B2721.1 ]
  %kept.2.1376 = phi i64 [ 0, %B864.lr.ph.new ], [ %kept.3.2.1, %B2721.1 ]
  %.971372374 = phi i64 [ 0, %B864.lr.ph.new ], [ %.978.1, %B2721.1 ]
  %sunkaddr110 = shl i64 %.971372374, 3
  %sunkaddr111 = getelementptr i8, ptr %arg.x.arg.room, i64 %sunkaddr110
  %"$phi804.2.2.2" = load double, ptr %sunkaddr111, align 8
  %.1038 = fsub double %"$phi804.2.2.2", %lo.2.0434
  %.1039 = fmul double %.283, %.1038
  %.1043 = fcmp ult double %.1039, 0.000000e+00
  br i1 %.1043, label %B924, label %B890

B890:                                             ; preds = %B864
  %.1053 = fcmp ogt double %.1039, 1.023000e+03
  br i1 %.1053, label %B912, label %B924

B912:                                             ; preds = %B890
  br label %B924

B924:                                             ; preds = %B912, %B890, %B864
  %bin_of_v10_f.4.2 = phi double [ 1.023000e+03, %B912 ], [ %.1039, %B890 ], [ 0.000000e+00, %B864 ]
  %.1073 = fptosi double %bin_of_v10_f.4.2 to i64
  %.1081 = icmp eq i64 %one.3.2323, %.1073
  br i1 %.1081, label %B936, label %B966

B936:                                             ; preds = %B924
  %.1091 = fcmp ogt double %"$phi804.2.2.2", %most.2.1377
  %"$phi870.2.2.3" = select i1 %.1091, double %"$phi804.2.2.2", double %most.2.1377
  %.1114 = fcmp olt double %"$phi804.2.2.2", %below.2.1379
  %"$phi890.2.2.3" = select i1 %.1114, double %"$phi804.2.2.2", double %below.2.1379
  %.1142 = getelementptr double, ptr %arg.room, i64 %kept.2.1376
  store double %"$phi804.2.2.2", ptr %.1142, align 8
  %.1145 = add nsw i64 %kept.2.1376, 1
  br label %B966

B966:                                             ; preds = %B936, %B924
  %kept.3.2 = phi i64 [ %.1145, %B936 ], [ %kept.2.1376, %B924 ]
  %most.3.2 = phi double [ %"$phi870.2.2.3", %B936 ], [ %most.2.1377, %B924 ]
  %below.3.2 = phi double [ %"$phi890.2.2.3", %B936 ], [ %below.2.1379, %B924 ]
  %.1167 = icmp eq i64 %two.3.1, %.1073
  br i1 %.1167, label %B978, label %B2721

B978:                                             ; preds = %B966
  %.1177 = fcmp olt double %"$phi804.2.2.2", %least.2.1378
  %"$phi942.2.2.3" = select i1 %.1177, double %"$phi804.2.2.2", double %least.2.1378
  %.1200 = fcmp ogt double %"$phi804.2.2.2", %above.2.1380
  br i1 %.1200, label %B2721, label %B2682

B2682:                                            ; preds = %B978
  br label %B2721

B2721:                                            ; preds = %B2682, %B978, %B966
  %least.3.2 = phi double [ %least.2.1378, %B966 ], [ %"$phi942.2.2.3", %B978 ], [ %"$phi942.2.2.3", %B2682 ]
  %above.3.2 = phi double [ %above.2.1380, %B966 ], [ %"$phi804.2.2.2", %B978 ], [ %above.2.1380, %B2682 ]
  %.978.1 = add nuw i64 %.971372374, 2
  %sunkaddr114 = getelementptr i8, ptr %sunkaddr111, i64 8
  %"$phi804.2.2.2.1" = load double, ptr %sunkaddr114, align 8
  %.1038.1 = fsub double %"$phi804.2.2.2.1", %lo.2.0434
  %.1039.1 = fmul double %.283, %.1038.1
  %.1043.1 = fcmp ult double %.1039.1, 0.000000e+00
  br i1 %.1043.1, label %B924.1, label %B890.1

B890.1:                                           ; preds = %B2721
  %.1053.1 = fcmp ogt double %.1039.1, 1.023000e+03
  br i1 %.1053.1, label %B912.1, label %B924.1

B912.1:                                           ; preds = %B890.1
  br label %B924.1

B924.1:                                           ; preds = %B912.1, %B890.1, %B2721
  %bin_of_v10_f.4.2.1 = phi double [ 1.023000e+03, %B912.1 ], [ %.1039.1, %B890.1 ], [ 0.000000e+00, %B2721 ]
  %.1073.1 = fptosi double %bin_of_v10_f.4.2.1 to i64
  %.1081.1 = icmp eq i64 %one.3.2323, %.1073.1
  br i1 %.1081.1, label %B936.1, label %B966.1

B936.1:                                           ; preds = %B924.1
  %.1091.1 = fcmp ogt double %"$phi804.2.2.2.1", %most.3.2
  %"$phi870.2.2.3.1" = select i1 %.1091.1, double %"$phi804.2.2.2.1", double %most.3.2
  %.1114.1 = fcmp olt double %"$phi804.2.2.2.1", %below.3.2
  %"$phi890.2.2.3.1" = select i1 %.1114.1, double %"$phi804.2.2.2.1", double %below.3.2
  %.1142.1 = getelementptr double, ptr %arg.room, i64 %kept.3.2
  store double %"$phi804.2.2.2.1", ptr %.1142.1, align 8
  %.1145.1 = add nsw i64 %kept.3.2, 1
  br label %B966.1

B966.1:                                           ; preds = %B936.1, %B924.1
  %kept.3.2.1 = phi i64 [ %.1145.1, %B936.1 ], [ %kept.3.2, %B924.1 ]
  %most.3.2.1 = phi double [ %"$phi870.2.2.3.1", %B936.1 ], [ %most.3.2, %B924.1 ]
  %below.3.2.1 = phi double [ %"$phi890.2.2.3.1", %B936.1 ], [ %below.3.2, %B924.1 ]
  %.1167.1 = icmp eq i64 %two.3.1, %.1073.1
  br i1 %.1167.1, label %B978.1, label %B2721.1

B978.1:                                           ; preds = %B966.1
  %.1177.1 = fcmp olt double %"$phi804.2.2.2.1", %least.3.2
  %"$phi942.2.2.3.1" = select i1 %.1177.1, double %"$phi804.2.2.2.1", double %least.3.2
  %.1200.1 = fcmp ogt double %"$phi804.2.2.2.1", %above.3.2
  br i1 %.1200.1, label %B2721.1, label %B2682.1

B2682.1:                                          ; preds = %B978.1
  br label %B2721.1

B2721.1:                                          ; preds = %B2682.1, %B978.1, %B966.1
  %least.3.2.1 = phi double [ %least.3.2, %B966.1 ], [ %"$phi942.2.2.3.1", %B978.1 ], [ %"$phi942.2.2.3.1", %B2682.1 ]
  %above.3.2.1 = phi double [ %above.3.2, %B966.1 ], [ %"$phi804.2.2.2.1", %B978.1 ], [ %above.3.2, %B2682.1 ]
  %niter36.ncmp.1 = icmp eq i64 %unroll_iter35, %.978.1
  br i1 %niter36.ncmp.1, label %B2725.loopexit.unr-lcssa, label %B864

B2725.loopexit.unr-lcssa:                         ; preds = %B2721.1
  %17 = and i64 %left.2.0433, 1
  %lcmp.mod28.not = icmp eq i64 %17, 0
  br i1 %lcmp.mod28.not, label %B2725, label %B864.epil.preheader

B864.epil.preheader:                              ; preds = %B864.lr.ph, %B2725.loopexit.unr-lcssa
  %above.2.1380.epil.init = phi double [ %lo.2.0434, %B864.lr.ph ], [ %above.3.2.1, %B2725.loopexit.unr-lcssa ]
  %below.2.1379.epil.init = phi double [ %hi.2.0435, %B864.lr.ph ], [ %below.3.2.1, %B2725.loopexit.unr-lcssa ]
  %least.2.1378.epil.init = phi double [ %hi.2.0435, %B864.lr.ph ], [ %least.3.2.1, %B2725.loopexit.unr-lcssa ]
  %most.2.1377.epil.init = phi double [ %lo.2.0434, %B864.lr.ph ], [ %most.3.2.1, %B2725.loopexit.unr-lcssa ]
  %kept.2.1376.epil.init = phi i64 [ 0, %B864.lr.ph ], [ %kept.3.2.1, %B2725.loopexit.unr-lcssa ]
  %.971372374.epil.init = phi i64 [ 0, %B864.lr.ph ], [ %.978.1, %B2725.loopexit.unr-lcssa ]
  %"$phi804.2.2.2.in.epil" = getelementptr double, ptr %arg.x.arg.room, i64 %.971372374.epil.init
  %"$phi804.2.2.2.epil" = load double, ptr %"$phi804.2.2.2.in.epil", align 8
  %.1038.epil = fsub double %"$phi804.2.2.2.epil", %lo.2.0434
  %.1039.epil = fmul double %.283, %.1038.epil
  %.1043.epil = fcmp ult double %.1039.epil, 0.000000e+00
  br i1 %.1043.epil, label %B924.epil, label %B890.epil

B890.epil:                                        ; preds = %B864.epil.preheader
  %.1053.epil = fcmp ogt double %.1039.epil, 1.023000e+03
  br i1 %.1053.epil, label %B912.epil, label %B924.epil

B912.epil:                                        ; preds = %B890.epil
  br label %B924.epil

B924.epil:                                        ; preds = %B912.epil, %B890.epil, %B864.epil.preheader
  %bin_of_v10_f.4.2.epil = phi double [ 1.023000e+03, %B912.epil ], [ %.1039.epil, %B890.epil ], [ 0.000000e+00, %B864.epil.preheader ]
  %.1073.epil = fptosi double %bin_of_v10_f.4.2.epil to i64
  %.1081.epil = icmp eq i64 %one.3.2323, %.1073.epil
  br i1 %.1081.epil, label %B936.epil, label %B966.epil

B936.epil:                                        ; preds = %B924.epil
  %.1091.epil = fcmp ogt double %"$phi804.2.2.2.epil", %most.2.1377.epil.init
  %"$phi870.2.2.3.epil" = select i1 %.1091.epil, double %"$phi804.2.2.2.epil", double %most.2.1377.epil.init
  %.1114.epil = fcmp olt double %"$phi804.2.2.2.epil", %below.2.1379.epil.init
  %"$phi890.2.2.3.epil" = select i1 %.1114.epil, double %"$phi804.2.2.2.epil", double %below.2.1379.epil.init
  %.1142.epil = getelementptr double, ptr %arg.room, i64 %kept.2.1376.epil.init
  store double %"$phi804.2.2.2.epil", ptr %.1142.epil, align 8
  %.1145.epil = add nsw i64 %kept.2.1376.epil.init, 1
  br label %B966.epil

B966.epil:                                        ; preds = %B936.epil, %B924.epil
  %kept.3.2.epil = phi i64 [ %.1145.epil, %B936.epil ], [ %kept.2.1376.epil.init, %B924.epil ]
  %most.3.2.epil = phi double [ %"$phi870.2.2.3.epil", %B936.epil ], [ %most.2.1377.epil.init, %B924.epil ]
  %below.3.2.epil = phi double [ %"$phi890.2.2.3.epil", %B936.epil ], [ %below.2.1379.epil.init, %B924.epil ]
  %.1167.epil = icmp eq i64 %two.3.1, %.1073.epil
  br i1 %.1167.epil, label %B978.epil, label %B2725

B978.epil:                                        ; preds = %B966.epil
  %.1177.epil = fcmp olt double %"$phi804.2.2.2.epil", %least.2.1378.epil.init
  %"$phi942.2.2.3.epil" = select i1 %.1177.epil, double %"$phi804.2.2.2.epil", double %least.2.1378.epil.init
  %.1200.epil = fcmp ogt double %"$phi804.2.2.2.epil", %above.2.1380.epil.init
  br i1 %.1200.epil, label %B2725, label %B2682.epil

B2682.epil:                                       ; preds = %B978.epil
  br label %B2725

B2725:                                            ; preds = %B804.endif, %B2682.epil, %B978.epil, %B966.epil, %B2725.loopexit.unr-lcssa
  %kept.2.1.lcssa = phi i64 [ 0, %B804.endif ], [ %kept.3.2.1, %B2725.loopexit.unr-lcssa ], [ %kept.3.2.epil, %B2682.epil ], [ %kept.3.2.epil, %B978.epil ], [ %kept.3.2.epil, %B966.epil ]
  %most.2.1.lcssa = phi double [ %lo.2.0434, %B804.endif ], [ %most.3.2.1, %B2725.loopexit.unr-lcssa ], [ %most.3.2.epil, %B2682.epil ], [ %most.3.2.epil, %B978.epil ], [ %most.3.2.epil, %B966.epil ]
  %least.2.1.lcssa = phi double [ %hi.2.0435, %B804.endif ], [ %least.3.2.1, %B2725.loopexit.unr-lcssa ], [ %"$phi942.2.2.3.epil", %B2682.epil ], [ %"$phi942.2.2.3.epil", %B978.epil ], [ %least.2.1378.epil.init, %B966.epil ]
  %below.2.1.lcssa = phi double [ %hi.2.0435, %B804.endif ], [ %below.3.2.1, %B2725.loopexit.unr-lcssa ], [ %below.3.2.epil, %B2682.epil ], [ %below.3.2.epil, %B978.epil ], [ %below.3.2.epil, %B966.epil ]
  %above.2.1.lcssa = phi double [ %lo.2.0434, %B804.endif ], [ %above.3.2.1, %B2725.loopexit.unr-lcssa ], [ %above.2.1380.epil.init, %B2682.epil ], [ %"$phi804.2.2.2.epil", %B978.epil ], [ %above.2.1380.epil.init, %B966.epil ]
  %.1270.not = icmp eq i64 %one.3.2323, %two.3.1
  br i1 %.1270.not, label %B2741, label %common.ret.sink.split

B2741:                                            ; preds = %B2725
  %.1318 = sub nsw i64 %first.2.0431, %before.3.2320
  %.1323 = sub nsw i64 %second.2.0432, %before.3.2320
  %scevgep59 = getelementptr i8, ptr %lsr.iv, i64 8192
  %scevgep83 = getelementptr i8, ptr %lsr.iv82, i64 8192
  %exitcond483.not = icmp eq i64 %.213, 12
  br i1 %exitcond483.not, label %common.ret, label %B100

B184.endif:                                       ; preds = %B182
  br i1 %0, label %B646, label %B192.preheader

B192.preheader:                                   ; preds = %B184.endif
  %xtraiter20 = and i64 %left.2.0433, 3
  %18 = icmp ult i64 %left.2.0433, 4
  br i1 %18, label %B192.epil.preheader, label %B192.preheader.new

B192.preheader.new:                               ; preds = %B192.preheader
  %unroll_iter24 = and i64 %left.2.0433, 9223372036854775804
  br label %B192

B362.endif:                                       ; preds = %B182
  br i1 %0, label %B646, label %B448.lr.ph

B448.lr.ph:                                       ; preds = %B362.endif
  %19 = getelementptr i64, ptr %arg.counts, i64 %.300
  %xtraiter = and i64 %left.2.0433, 3
  %20 = icmp ult i64 %left.2.0433, 4
  br i1 %20, label %B448.epil.preheader, label %B448.lr.ph.new

B448.lr.ph.new:                                   ; preds = %B448.lr.ph
  %unroll_iter = and i64 %left.2.0433, 9223372036854775804
  br label %B448

B804.endif:                                       ; preds = %B696.10, %B774, %B760
  %one.3.2323 = phi i64 [ %one.3.2.ph, %B774 ], [ %one.3.2.ph, %B760 ], [ 1023, %B696.10 ]
  %before.3.2320 = phi i64 [ %before.3.2.ph, %B774 ], [ %before.3.2.ph, %B760 ], [ %.737.9, %B696.10 ]
  %two.3.1 = phi i64 [ %.801, %B774 ], [ %one.3.2.ph, %B760 ], [ 1023, %B696.10 ]
  %21 = icmp slt i64 %left.2.0433, 1
  br i1 %21, label %B2725, label %B864.lr.ph

B864.lr.ph:                                       ; preds = %B804.endif
  %arg.x.arg.room = select i1 %.305, ptr %arg.x, ptr %arg.room
  %22 = icmp eq i64 %left.2.0433, 1
  br i1 %22, label %B864.epil.preheader, label %B864.lr.ph.new

B864.lr.ph.new:                                   ; preds = %B864.lr.ph
  %unroll_iter35 = and i64 %left.2.0433, 9223372036854775806
  br label %B864
}

; Function Attrs: nofree norecurse nosync nounwind memory(read, argmem: readwrite, inaccessiblemem: none, target_mem0: none, target_mem1: none)
define i64 @middle(ptr readonly %.1, i64 %.2, ptr readonly %.3, ptr readonly %.4, ptr %.5, ptr %.6, ptr writeonly %.7) local_unnamed_addr #3 {
entry:
  %.9 = alloca i64, align 8
  store i64 0, ptr %.9, align 8
  call fastcc void @inside_middle(ptr nonnull %.9, ptr %.1, i64 %.2, ptr %.3, ptr %.4, ptr %.5, ptr %.6, ptr %.7) #4
  %.23 = load i64, ptr %.9, align 8
  ret i64 %.23
}

attributes #0 = { nofree norecurse nosync nounwind memory(argmem: readwrite) }
attributes #1 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #2 = { mustprogress nocallback nofree nosync nounwind speculatable willreturn memory(none) }
attributes #3 = { nofree norecurse nosync nounwind memory(read, argmem: readwrite, inaccessiblemem: none, target_mem0: none, target_mem1: none) }
attributes #4 = { noinline }

!0 = distinct !{!0, !1}
!1 = !{!"llvm.loop.unroll.disable"}
!2 = !{!3}
!3 = distinct !{!3, !4}
!4 = distinct !{!4, !"LVerDomain"}
!5 = !{!6}
!6 = distinct !{!6, !4}
!7 = !{!8}
!8 = distinct !{!8, !4}
!9 = !{!10}
!10 = distinct !{!10, !4}
!11 = !{!8, !6, !3}
!12 = distinct !{!12, !13, !14}
!13 = !{!"llvm.loop.isvectorized", i32 1}
!14 = !{!"llvm.loop.unroll.runtime.disable"}
!15 = !{!"branch_weights", i32 4, i32 28}
!16 = distinct !{!16, !13, !14}
!17 = !{!18}
!18 = distinct !{!18, !19}
!19 = distinct !{!19, !"LVerDomain"}
!20 = !{!21}
!21 = distinct !{!21, !19}
!22 = !{!23}
!23 = distinct !{!23, !19}
!24 = !{!25}
!25 = distinct !{!25, !19}
!26 = !{!23, !21, !18}
!27 = distinct !{!27, !13, !14}
!28 = distinct !{!28, !13, !14}
!29 = distinct !{!29, !13}
!30 = distinct !{!30, !13}
!31 = distinct !{!31, !1}
!32 = distinct !{!32, !1}
